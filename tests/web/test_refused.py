"""The page of what was refused: what, why and what to do in plain words, a way back, and what was typed."""

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import httpx
import pytest
from test_acts import text_of
from watched import WatchedYard, flooded_yard
from yards import Yard

from monitor.web import Deps
from monitor.web.acts import ALERT_ACTS

Ask = Callable[[Deps], httpx.Client]
HTTP_WORDS = ("Conflict", "Unprocessable", "Error 4", "Error 5", "409", "422", "Service Unavailable")


@pytest.fixture
def flooded(tmp_path: Path) -> Iterator[WatchedYard]:
    made = flooded_yard(tmp_path / "flooded.db")
    yield made
    made.close()


@pytest.fixture
def asking(flooded: WatchedYard, cache_dir: Path, ask: Ask) -> httpx.Client:
    return ask(flooded.deps(cache_dir, roster=flooded.roster))


@pytest.fixture
def bilge(flooded: WatchedYard) -> str:
    return flooded.alert_of("amber-lark", "bilge").id


def heading_of(page: str) -> str:
    found = re.search(r"<h1[^>]*>(.*?)</h1>", page)
    assert found is not None
    return found[1]


@pytest.mark.parametrize(
    ("act", "typed", "heading", "says"),
    [
        ("shelve", {"reason": "pump", "until": "2013-12-13T08:00"}, "It was not put aside", "12 hours at most"),
        ("shelve", {"reason": "pump", "until": "soon"}, "It was not put aside", "Until : 'soon' is no time"),
        ("hand-over", {"to": "Zoe", "note": "you are near"}, "It was not handed over", "nobody called 'Zoe'"),
        ("confirm", {"note": " "}, "It is not noted that you were aboard", "Write what you found aboard"),
        ("out-of-service", {"reason": "broken"}, "It was not taken out of service", "is no manager"),
        ("bring-back", {}, "It was not brought back", "It is not put aside."),
    ],
)
def test_it_says_what_was_refused_and_why_and_leads_back(
    asking: httpx.Client, bilge: str, act: str, typed: dict[str, str], heading: str, says: str
) -> None:
    answer = asking.post(f"/alerts/{bilge}/{act}", data=typed | {"name": "Anna Tolley"})
    assert answer.status_code in {409, 422}
    text = text_of(answer.text)
    assert heading_of(answer.text) == heading
    assert says in text
    assert "Amber Lark, plot B1: " in text
    assert not [word for word in HTTP_WORDS if word in text]
    assert f'href="/vessels/amber-lark#alert-{bilge}"' in answer.text


def test_what_was_typed_is_kept_and_can_be_sent_again(asking: httpx.Client, bilge: str) -> None:
    typed = {"name": 'Joss "J" Reed', "reason": "pump & hose", "until": "2013-12-20T08:00"}
    page = asking.post(f"/alerts/{bilge}/shelve", data=typed).text
    assert f'action="/alerts/{bilge}/shelve"' in page
    assert 'value="Joss &#34;J&#34; Reed"' in page
    assert 'value="pump &amp; hose"' in page
    assert 'value="2013-12-20T08:00"' in page
    page = asking.post(f"/alerts/{bilge}/hand-over", data={"name": "anna", "to": "anna", "note": "n1"}).text
    assert ('value="n1"' in page, 'value="anna"' in page) == (True, True)
    aboard = {"name": "Joss Reed", "reason": "lift", "until": "2013-12-20T08:00", "note": "blue slings"}
    page = asking.post("/vessels/amber-lark/aboard", data=aboard).text
    assert heading_of(page) == "Her alerts were not put aside"
    assert '<option value="lift" selected>' in page
    assert 'value="blue slings"' in page


def test_what_nobody_can_put_right_asks_for_nothing_again(asking: httpx.Client, bilge: str) -> None:
    asking.post(f"/alerts/{bilge}/acknowledge", data={"name": "Anna Tolley"})
    page = asking.post(f"/alerts/{bilge}/acknowledge", data={"name": "Maud Farrier"})
    assert heading_of(page.text) == "It is not noted that you have seen it"
    assert "Anna Tolley has seen it already." in text_of(page.text)
    assert "<form" not in page.text


def test_a_watch_that_does_not_answer_says_to_look_first(
    flooded: WatchedYard, asking: httpx.Client, bilge: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("monitor.web.commands.TIMEOUT_S", 0.05)
    monkeypatch.setattr(flooded, "_take", lambda *_: None)
    page = asking.post(f"/alerts/{bilge}/acknowledge", data={"name": "Anna Tolley", "note": "on my way"})
    assert page.status_code == 503
    assert "Wait a minute, then look whether it was taken" in text_of(page.text)
    assert 'value="on my way"' in page.text


@pytest.mark.parametrize("act", [*ALERT_ACTS, "aboard", "ashore"])
def test_everything_that_can_be_asked_comes_back_as_its_own_form(
    flooded: WatchedYard, asking: httpx.Client, bilge: str, act: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("monitor.web.commands.TIMEOUT_S", 0.05)
    monkeypatch.setattr(flooded, "_take", lambda *_: None)
    path = f"/alerts/{bilge}/{act}" if act in ALERT_ACTS else f"/vessels/amber-lark/{act}"
    typed = {"name": "Zoe Rigger", "note": "n1", "reason": "lift", "until": "2013-12-09T20:00", "to": "Maud Farrier"}
    page = asking.post(path, data=typed)
    assert page.status_code == 503
    assert re.findall(r'<form[^>]*action="([^"]+)"', page.text) == [path]
    assert 'value="Zoe Rigger"' in page.text


def test_what_no_alert_knows_is_not_there(asking: httpx.Client, bilge: str) -> None:
    assert asking.post(f"/alerts/{bilge}/sink", data={"name": "x"}).status_code == 404
    assert asking.post("/alerts/0000/shelve", data={"name": "x"}).status_code == 404
    assert asking.post("/vessels/none/aboard", data={"name": "x"}).status_code == 404


@pytest.mark.parametrize(
    ("path", "heading"), [("/nowhere", "Nothing here"), ("/vessels/amber-lark?span=x", "Something in it has to be put")]
)
def test_every_error_is_headed_in_plain_words(client: httpx.Client, path: str, heading: str) -> None:
    page = client.get(path)
    assert heading_of(page.text).startswith(heading)
    assert not [word for word in HTTP_WORDS if word in text_of(page.text)]


def test_a_button_that_is_refused_leads_back_to_its_page(yard: Yard, client: httpx.Client) -> None:
    yard.answer = "not today"
    own = str(client.base_url).rstrip("/")
    call = {"Referer": f"{own}/vessels/amber-lark?span=week"}
    assert 'href="/vessels/amber-lark?span=week">Back<' in client.get("/nowhere", headers=call).text
    for other in ("http://elsewhere.example/vessels/x", f"{own}//elsewhere.example", "javascript:alert(1)"):
        assert ">Back<" not in client.get("/nowhere", headers={"Referer": other}).text
