"""Who does something, and to whom it is handed, as the settings call them: in the API and on the pages."""

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import httpx
import pytest
from test_acts import text_of
from watched import PEOPLE, WatchedYard, flooded_yard

from monitor.model.people import Rota, YardPerson
from monitor.model.roster import Roster
from monitor.web import Deps

Ask = Callable[[Deps], httpx.Client]
JOSS = YardPerson(id="joss", name="Joss Reed", email="joss@yard.example")
ROSTER = Roster.of((*PEOPLE, JOSS), Rota(), (), "Europe/London")
ANNA, OWNER = "Anna Tolley", "Tamsin Eldergrove"


@pytest.fixture
def flooded(tmp_path: Path) -> Iterator[WatchedYard]:
    made = flooded_yard(tmp_path / "flooded.db")
    yield made
    made.close()


@pytest.fixture
def asking(flooded: WatchedYard, cache_dir: Path, ask: Ask) -> httpx.Client:
    return ask(flooded.deps(cache_dir, roster=ROSTER))


@pytest.fixture
def bilge(flooded: WatchedYard) -> str:
    return flooded.alert_of("amber-lark", "bilge").id


@pytest.mark.parametrize("written", ["ANNA", "anna", " Anna  Tolley ", "Anna", "tolley"])
def test_one_person_is_one_whatever_they_type(
    flooded: WatchedYard, asking: httpx.Client, bilge: str, written: str
) -> None:
    done = asking.post(f"/api/alerts/{bilge}/acknowledge", json={"name": written}).json()
    assert (done["acknowledged_by"], done["said"]) == (ANNA, [])
    assert flooded.alert_of("amber-lark", "bilge").acknowledged_by == ANNA


def test_whoever_goes_aboard_is_called_as_the_settings_have_them(asking: httpx.Client) -> None:
    aboard = {"name": "joss", "reason": "people aboard", "until": "+1h"}
    done = asking.post("/api/vessels/amber-lark/aboard", json=aboard).json()
    assert (done["aboard"]["by"], done["said"]) == ("Joss Reed", [])
    slip = asking.delete("/api/vessels/amber-lark/aboard", params={"name": "Zoe Rigger"})
    assert slip.status_code == 422
    assert "Zoe Rigger is not one of the settings' people, and Joss Reed said" in slip.json()["detail"]
    assert asking.get("/api/vessels/amber-lark").json()["aboard"]["by"] == "Joss Reed"
    assert asking.delete("/api/vessels/amber-lark/aboard", params={"name": "joss"}).json()["aboard"] is None


def test_a_visitor_ends_what_they_said_began(asking: httpx.Client) -> None:
    aboard = {"name": "Zoe Rigger", "reason": "people aboard", "until": "+1h"}
    stranger = ["The yard's list of people has no Zoe Rigger; it is noted under that name."]
    assert asking.post("/api/vessels/amber-lark/aboard", json=aboard).json()["said"] == stranger
    gone = asking.delete("/api/vessels/amber-lark/aboard", params={"name": "zoe rigger"}).json()
    assert gone["aboard"] is None


def test_a_manager_is_one_by_their_id_in_capitals(asking: httpx.Client, bilge: str) -> None:
    out = {"name": "MAUD", "reason": "float is broken"}
    assert asking.post(f"/api/alerts/{bilge}/out-of-service", json=out).json()["aside_by"] == "Maud Farrier"


def test_a_visitor_may_do_something_and_is_told_that_nobody_knows_them(asking: httpx.Client, bilge: str) -> None:
    done = asking.post(f"/api/alerts/{bilge}/acknowledge", json={"name": "Zoe Rigger"}).json()
    assert done["acknowledged_by"] == "Zoe Rigger"
    assert done["said"] == ["The yard's list of people has no Zoe Rigger; it is noted under that name."]


def test_the_page_says_so_too_and_never_of_her_owner(asking: httpx.Client, bilge: str) -> None:
    page = text_of(asking.post(f"/alerts/{bilge}/acknowledge", data={"name": "Ana Toley"}).text)
    assert "The yard's list of people has no Ana Toley. For a visitor that is right" in page
    page = text_of(asking.post(f"/alerts/{bilge}/accept", data={"name": "tamsin"}).text)
    assert f"{OWNER} has it." in page
    assert "list of people has no" not in page


@pytest.mark.parametrize(
    ("to", "says"),
    [
        ("Zoe", f"the settings know nobody called 'Zoe': there is {ANNA}, Maud Farrier, Joss Reed, {OWNER}"),
        ("ANNA", "Anna Tolley would hand it over to themselves"),
    ],
)
def test_it_is_handed_over_to_somebody_else_whom_the_settings_know(
    flooded: WatchedYard, asking: httpx.Client, bilge: str, to: str, says: str
) -> None:
    body = {"name": "anna", "to": to}
    answer = asking.post(f"/api/alerts/{bilge}/hand-over", json=body)
    assert answer.status_code == 422
    (mistake,) = answer.json()["errors"]
    assert (mistake["key"], says in mistake["reason"]) == ("to", True)
    page = asking.post(f"/alerts/{bilge}/hand-over", data=body)
    assert (page.status_code, says.lower() in text_of(page.text).lower()) == (422, True)
    assert flooded.commands == []


def test_it_is_handed_over_by_whatever_beginning_and_accepted(asking: httpx.Client, bilge: str) -> None:
    assert asking.post(f"/api/alerts/{bilge}/accept", json={"name": "anna"}).json()["has_it"] == ANNA
    done = asking.post(f"/api/alerts/{bilge}/hand-over", json={"name": "anna", "to": "jos"}).json()
    assert done["offered_to"] == "Joss Reed"
    assert asking.post(f"/api/alerts/{bilge}/accept", json={"name": "JOSS"}).json()["has_it"] == "Joss Reed"


def test_a_name_that_is_two_people_is_refused_with_both(
    flooded: WatchedYard, cache_dir: Path, ask: Ask, bilge: str
) -> None:
    other = YardPerson(id="anna-b", name="Anna Brook")
    asking = ask(flooded.deps(cache_dir, roster=Roster((*PEOPLE, other))))
    answer = asking.post(f"/api/alerts/{bilge}/hand-over", json={"name": "Maud", "to": "an"})
    assert answer.status_code == 422
    assert "'an' could be Anna Tolley or Anna Brook: write more of the name" in answer.json()["detail"]
    # Her own id is hers alone.
    assert asking.post(f"/api/alerts/{bilge}/accept", json={"name": "anna"}).json()["has_it"] == ANNA


def test_the_form_offers_the_people_by_name_and_role_and_her_owner(asking: httpx.Client) -> None:
    page = asking.get("/vessels/amber-lark").text
    choices = re.findall(r"<select[^>]*name=\"to\"[^>]*>(.*?)</select>", page, re.DOTALL)[0]
    labels = ["Choose", "Anna Tolley, duty", "Maud Farrier, manager", "Joss Reed", f"{OWNER}, owner"]
    assert re.findall(r"<option[^>]*>([^<]*)</option>", choices) == labels
    assert "<datalist" in page
    ids = re.findall(r" id=\"([^\"]+)\"", page)
    assert len(ids) == len(set(ids))


def test_where_the_settings_name_nobody_it_is_written_freely(flooded: WatchedYard, cache_dir: Path, ask: Ask) -> None:
    page = ask(flooded.deps(cache_dir)).get("/vessels/amber-lark").text
    assert re.search(r"<input[^>]*name=\"to\"", page)
    assert "<datalist" not in page
