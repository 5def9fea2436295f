"""What people do with alerts, on the pages and in the API, over the real watch and journal."""

import html
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import httpx
import pytest
from watched import WatchedYard, flooded_yard
from yards import HOUR_MS

from monitor.model.scale import AlertState
from monitor.web import Deps
from monitor.web.until import UntilError, until_ms

Ask = Callable[[Deps], httpx.Client]
LONDON = ZoneInfo("Europe/London")


def text_of(page: str) -> str:
    """Give a page's text, without markup."""
    return html.unescape(" ".join(re.sub(r"<[^>]*>", " ", page).split()))


@pytest.fixture
def flooded(tmp_path: Path) -> Iterator[WatchedYard]:
    made = flooded_yard(tmp_path / "flooded.db")
    yield made
    made.close()


@pytest.fixture
def asking(flooded: WatchedYard, cache_dir: Path, ask: Ask) -> httpx.Client:
    return ask(flooded.deps(cache_dir))


@pytest.fixture
def bilge(flooded: WatchedYard) -> str:
    return flooded.alert_of("amber-lark", "bilge").id


def test_it_is_offered_and_accepted(flooded: WatchedYard, asking: httpx.Client, bilge: str) -> None:
    offer = {"name": "Anna Tolley", "to": "Joss Reed", "note": "you are nearer"}
    page = text_of(asking.post(f"/alerts/{bilge}/hand-over", data=offer).text)
    assert "Offered to Joss Reed, who has not said yes yet." in page
    assert "Are you Joss Reed?" in page
    page = text_of(asking.post(f"/alerts/{bilge}/accept", data={"name": "Joss Reed"}).text)
    assert "Joss Reed has it." in page
    assert "Are you Joss Reed?" not in page
    kept = flooded.alert_of("amber-lark", "bilge")
    assert (kept.has_it, kept.offered_to, kept.acknowledged_by) == ("Joss Reed", None, "Joss Reed")


def test_what_is_put_aside_stands_below_grey_and_counts_for_nothing(asking: httpx.Client, bilge: str) -> None:
    assert text_of(asking.get("/").text).count("Act now") >= 2  # the count, and her row
    act = {"name": "Anna Tolley", "reason": "pump is being changed", "until": "2013-12-10T01:00"}
    page = text_of(asking.post(f"/alerts/{bilge}/shelve", data=act).text)
    assert "Put aside Nobody is told of these, and they do not count in how she stands." in page
    assert "Put aside by Anna Tolley until Tue 01:00: pump is being changed." in page
    assert page.index("1 put aside") < page.index("Nobody is told of these")
    yard = asking.get("/").text
    assert "0 Act now" in text_of(yard)
    assert "1 put aside" in text_of(yard)
    aside = asking.get("/", params={"state": "put-aside"}).text
    assert re.findall(r'data-vessel="([\w-]+)"', aside) == ["amber-lark"]
    data = asking.get("/api/vessels/amber-lark").json()
    assert (data["put_aside"], data["state"]) == (1, "No data")


def test_it_comes_back_when_somebody_brings_it(flooded: WatchedYard, asking: httpx.Client, bilge: str) -> None:
    asking.post(f"/api/alerts/{bilge}/shelve", json={"name": "Anna", "reason": "pump", "until": "+2h"})
    assert flooded.alert_of("amber-lark", "bilge").state is AlertState.SHELVED
    page = text_of(asking.post(f"/alerts/{bilge}/bring-back", data={"name": "Anna Tolley"}).text)
    assert "Nobody is told of these" not in page
    assert flooded.alert_of("amber-lark", "bilge").state is AlertState.UNACKNOWLEDGED


def test_it_comes_back_by_itself_at_its_end(flooded: WatchedYard, asking: httpx.Client, bilge: str) -> None:
    asking.post(f"/api/alerts/{bilge}/shelve", json={"name": "Anna", "reason": "pump", "until": "+2h"})
    flooded.passes(2.1)
    assert "Act now" in text_of(asking.get("/vessels/amber-lark").text)


def test_the_form_offers_no_end_that_would_be_refused(flooded: WatchedYard, asking: httpx.Client, bilge: str) -> None:
    page = asking.get("/vessels/amber-lark").text
    offered = re.search(rf'id="shelve-{bilge}-until"[^>]* value="([^"]+)" max="([^"]+)"', page)
    assert offered is not None
    act = {"name": "Anna", "reason": "pump", "until": offered[2]}
    assert asking.post(f"/alerts/{bilge}/shelve", data=act).status_code == 200
    assert flooded.alert_of("amber-lark", "bilge").aside_until_ms == until_ms(offered[2], flooded.now_ms, LONDON)


@pytest.mark.parametrize(
    ("act", "body", "status", "says"),
    [
        ("shelve", {"reason": "pump", "until": "+3d"}, 409, "12 hours at most"),
        ("shelve", {"reason": "pump", "until": "soon"}, 422, "'soon' is no time"),
        ("shelve", {"reason": " ", "until": "+1h"}, 422, "Write a few words"),
        ("shelve", {"reason": "pump"}, 422, "Field required"),
        ("out-of-service", {"reason": "float is broken"}, 409, "Anna Tolley is no manager"),
        ("bring-back", {}, 409, "it is not put aside"),
        ("confirm", {}, 422, "Write what you found aboard"),
        ("hand-over", {"to": "  "}, 422, "Write to whom"),
    ],
)
def test_what_cannot_be_done_is_said_in_words(
    asking: httpx.Client, bilge: str, act: str, body: dict[str, str], status: int, says: str
) -> None:
    named = body | {"name": "Anna Tolley"}
    data = asking.post(f"/api/alerts/{bilge}/{act}", json=named)
    page = asking.post(f"/alerts/{bilge}/{act}", data=named)
    assert (data.status_code, page.status_code) == (status, status)
    assert says in data.text
    assert says.lower() in text_of(page.text).lower()


def test_a_manager_takes_it_out_of_service_and_brings_it_back(
    flooded: WatchedYard, asking: httpx.Client, bilge: str
) -> None:
    out = {"name": "Maud Farrier", "reason": "float is broken"}
    assert "Taken out of service by Maud Farrier: float is broken." in text_of(
        asking.post(f"/alerts/{bilge}/out-of-service", data=out).text
    )
    assert asking.post(f"/api/alerts/{bilge}/bring-back", json={"name": "Anna Tolley"}).status_code == 409
    assert asking.post(f"/api/alerts/{bilge}/bring-back", json={"name": "Maud Farrier"}).status_code == 200
    assert flooded.alert_of("amber-lark", "bilge").state is AlertState.UNACKNOWLEDGED


def test_what_has_cleared_waits_for_somebody_who_was_aboard(
    flooded: WatchedYard, asking: httpx.Client, bilge: str
) -> None:
    asking.post(f"/api/alerts/{bilge}/acknowledge", json={"name": "Anna Tolley"})
    flooded.sensed("amber-lark", "float", 0.0, ago_ms=0)
    flooded.passes(8)
    assert flooded.alert_of("amber-lark", "bilge").state is AlertState.LATCHED
    page = asking.get("/vessels/amber-lark").text
    assert "It has cleared, and stays here until somebody has been aboard." in text_of(page)
    assert "latched" not in text_of(page)
    act = {"name": "Joss Reed", "note": "hose had come off", "nothing_wrong": "false"}
    page = text_of(asking.post(f"/alerts/{bilge}/confirm", data=act).text)
    assert "Looked at aboard by Joss Reed: hose had come off" in page
    ended = flooded.alert_of("amber-lark", "bilge")
    assert (ended.confirmed_by, ended.is_open) == ("Joss Reed", False)
    assert asking.post(f"/alerts/{bilge}/confirm", data=act).status_code == 409


def test_that_nothing_is_wrong_with_water_that_stands_needs_a_word_and_it_stands_on(
    flooded: WatchedYard, asking: httpx.Client, bilge: str
) -> None:
    act = {"name": "Joss Reed", "nothing_wrong": True}
    refused = asking.post(f"/api/alerts/{bilge}/confirm", json=act)
    assert refused.status_code == 422
    assert refused.json()["errors"][0]["key"] == "note"
    assert "write what you saw" in refused.json()["errors"][0]["reason"]
    page = asking.post(f"/alerts/{bilge}/confirm", data={"name": "Joss Reed", "nothing_wrong": "true", "note": " "})
    assert "It still stands, and you say that nothing of it was so" in text_of(page.text)
    assert 'value="true" selected' in page.text  # the form as it was filled in
    assert flooded.alert_of("amber-lark", "bilge").has_it is None
    done = asking.post(f"/api/alerts/{bilge}/confirm", json=act | {"note": "dry, a rag under the float"}).json()
    said = "It stands on: what was heard last says that it is still so."
    assert done["said"] == [f"{said} Joss Reed has it until it clears or is handed over."]
    assert flooded.alert_of("amber-lark", "bilge").has_it == "Joss Reed"
    assert "Joss Reed was aboard 18:02; it stands on." in text_of(asking.get("/vessels/amber-lark").text)


def test_a_call_out_for_nothing_needs_no_note_once_it_has_cleared(
    flooded: WatchedYard, asking: httpx.Client, bilge: str
) -> None:
    flooded.sensed("amber-lark", "float", 0.0, ago_ms=0)
    flooded.passes(8)
    act = {"name": "Joss Reed", "nothing_wrong": True}
    assert asking.post(f"/api/alerts/{bilge}/confirm", json=act).json()["confirmed_by"] == "Joss Reed"


def test_who_has_it_takes_it_on_only_once(flooded: WatchedYard, asking: httpx.Client, bilge: str) -> None:
    assert asking.post(f"/api/alerts/{bilge}/accept", json={"name": "Joss Reed"}).status_code == 200
    again = asking.post(f"/alerts/{bilge}/accept", data={"name": "joss reed"})
    assert again.status_code == 409
    assert "Joss Reed has it already" in again.text
    assert [e.change.value for e in flooded.view.events(bilge)].count("accepted") == 1


def test_people_aboard_are_shown_with_their_end_until_it_is_over(flooded: WatchedYard, asking: httpx.Client) -> None:
    act = {"name": "Joss Reed", "reason": "wash-down", "until": "+1h", "note": "deck only"}
    answer = asking.post("/vessels/amber-lark/aboard", data=act)
    until = "19:02"
    assert f"Wash-down until {until} , by Joss Reed: deck only." in text_of(answer.text)
    assert f"Wash-down until {until}" in text_of(asking.get("/").text)
    data = asking.get("/api/vessels/amber-lark").json()["aboard"]
    assert (data["reason"], data["by"]) == ("wash-down", "Joss Reed")
    # Water is told all the same.
    assert flooded.alert_of("amber-lark", "bilge").state is AlertState.UNACKNOWLEDGED
    page = text_of(asking.post("/vessels/amber-lark/ashore", data={"name": "Joss Reed"}).text)
    assert "Somebody goes aboard, washes her down or lifts her" in page
    assert asking.get("/api/vessels/amber-lark").json()["aboard"] is None


def test_nobody_stays_aboard_for_longer_than_may_be(asking: httpx.Client) -> None:
    act = {"name": "Joss Reed", "reason": "people aboard", "until": "+5h"}
    answer = asking.post("/api/vessels/amber-lark/aboard", json=act)
    assert (answer.status_code, "4 hours at most" in answer.text) == (409, True)


def test_a_name_typed_once_stands_in_the_next_form_without_a_script(asking: httpx.Client, bilge: str) -> None:
    page = asking.post(f"/alerts/{bilge}/acknowledge", data={"name": 'Jo "<b>" Reed'}).text
    assert 'value="Jo &#34;&lt;b&gt;&#34; Reed"' in page
    assert 'Jo "<b>"' not in page


def test_a_visit_can_be_written_down_from_her_page(asking: httpx.Client) -> None:
    assert 'href="/vessels/amber-lark/visit"' in asking.get("/vessels/amber-lark").text


@pytest.mark.parametrize(
    ("written", "after_h"), [("+30m", 0.5), ("+2h", 2), ("+1.5 d", 36), ("19:02", 1), ("17:02", 23), ("18:02", 24)]
)
def test_an_end_is_understood_as_people_write_it(written: str, after_h: float) -> None:
    at_ms = 1_386_612_120_000  # Monday 18:02
    assert until_ms(written, at_ms, LONDON) == at_ms + round(after_h * HOUR_MS)


def test_an_end_after_the_clocks_change_is_by_the_wall() -> None:
    saturday_evening_ms = 1_396_116_000_000  # 29 March 2014, 18:00 in London; summer time begins that night
    assert until_ms("08:00", saturday_evening_ms, LONDON) - saturday_evening_ms == 13 * HOUR_MS


@pytest.mark.parametrize("written", ["", "25:00", "+h", "+-1h", "tomorrow", "2013-13-01T00:00", "9" * 30])
def test_what_is_no_time_is_refused(written: str) -> None:
    with pytest.raises(UntilError, match="is no time"):
        until_ms(written, 0, LONDON)


def test_a_time_without_an_offset_is_yard_time() -> None:
    summer: Any = until_ms("2014-07-01T08:00", 0, LONDON)
    assert summer == until_ms("2014-07-01T07:00Z", 0, LONDON)
