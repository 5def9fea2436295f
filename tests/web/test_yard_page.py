"""The yard page, as a browser without JavaScript gets it."""

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import httpx
import pytest
from yards import HOUR_MS, Yard, one_of_each, reading, record

from monitor.model.scale import Priority
from monitor.web import Deps

Ask = Callable[[Deps], httpx.Client]
ROW = re.compile(r'<li class="row ([\w-]+)" data-vessel="([\w-]+)".*?</li>', re.DOTALL)


def rows(page: str) -> list[tuple[str, str, str]]:
    """Give the page's rows: rank, vessel, text."""
    found = [(m[1], m[2], m[0]) for m in ROW.finditer(page)]
    return [(rank, vessel, " ".join(re.sub(r"<[^>]*>", " ", text).split())) for rank, vessel, text in found]


def test_vessels_stand_worst_first(client: httpx.Client) -> None:
    assert [(rank, vessel) for rank, vessel, _ in rows(client.get("/").text)] == [
        ("act-now", "amber-lark"),
        ("soon", "barley-moon"),
        ("no-data", "copper-wren"),
        ("no-data", "grey-heron"),
        ("no-data", "hazel-row"),
        ("no-data", "iris-day"),
        ("no-data", "jolly-plover"),
        ("this-week", "dove-hollow"),
        ("cleared", "ember-quay"),
        ("quiet", "fern-island"),
    ]


def test_every_row_says_its_state_in_a_word_and_when_she_was_last_heard(client: httpx.Client) -> None:
    words = {"Act now", "Soon", "No data", "This week", "Cleared, not seen", "Quiet"}
    for _, _, text in rows(client.get("/").text):
        assert any(word in text for word in words), text
        assert re.search(r"heard (\w{3} )?\d\d:\d\d|never heard", text), text


@pytest.mark.parametrize(
    ("vessel", "says"),
    [
        ("fern-island", "Nothing needs doing; heard 18:00"),
        ("grey-heron", "Not heard yet: no sensor of hers has sent anything"),
        ("hazel-row", "No sensors aboard: nothing here is watched"),
        ("iris-day", "Engine closed cooling: temperature not known"),
        ("jolly-plover", "Not heard since Sun 16:02"),
        ("barley-moon", "Seen by Wilf Sandring 17:02"),
        ("amber-lark", "and 1 more"),
        ("ember-quay", "cleared 17:02"),
    ],
)
def test_a_row_says_what_is_worst(client: httpx.Client, vessel: str, says: str) -> None:
    found = {v: text for _, v, text in rows(client.get("/").text)}
    assert says in found[vessel]


def test_the_page_never_says_safe(client: httpx.Client) -> None:
    for path in ("/", "/vessels/fern-island", "/vessels/amber-lark"):
        assert not re.search(r"\bsafe\b", client.get(path).text, re.IGNORECASE)


def test_times_are_yard_times(yard: Yard, deps: Deps, ask: Ask) -> None:
    yard.now_ms += 200 * 24 * HOUR_MS  # late June: an hour ahead of UTC in London
    yard.hear([reading("fern-island", "cabin", yard.now_ms, 12.0)])
    page = ask(deps).get("/").text
    assert "heard 19:02" in page


def test_a_search_finds_by_name_plot_and_owner(client: httpx.Client) -> None:
    assert [v for _, v, _ in rows(client.get("/", params={"q": "heron"}).text)] == ["grey-heron"]
    assert [v for _, v, _ in rows(client.get("/", params={"q": "plot b5"}).text)] == ["fern-island"]
    assert len(rows(client.get("/", params={"q": "eldergrove"}).text)) == 10
    nothing = client.get("/", params={"q": "<b>"}).text
    assert "No boat fits" in nothing
    assert "<b>”" not in nothing


def test_a_count_shows_its_own(client: httpx.Client) -> None:
    page = client.get("/", params={"state": "no-data"}).text
    assert {rank for rank, _, _ in rows(page)} == {"no-data"}
    assert len(rows(page)) == 5


def test_an_empty_yard_says_how_to_begin(tmp_path: Path, cache_dir: Path, ask: Ask) -> None:
    yard = Yard(tmp_path / "empty.db")
    page = ask(yard.deps(cache_dir)).get("/").text
    assert "coldberth vessel import FILE.toml" in page
    yard.close()


def test_of_two_thousand_vessels_the_first_hundred_and_all_that_are_not_quiet_are_shown(
    tmp_path: Path, cache_dir: Path, ask: Ask
) -> None:
    yard = Yard(tmp_path / "big.db")
    names = [f"boat-{n:04d}" for n in range(2_000)]
    yard.lay_up(*(record(name, name.title()) for name in names))
    yard.hear([each for name in names[:-120] for each in one_of_each(name, yard.now_ms)])
    client = ask(yard.deps(cache_dir))
    page = client.get("/").text
    assert [rank for rank, _, _ in rows(page)] == ["no-data"] * 120
    assert "Show all 2000" in page
    assert len(rows(client.get("/", params={"state": "quiet"}).text)) == 100
    assert len(rows(client.get("/", params={"all": "true"}).text)) == 2_000
    yard.close()


def test_the_fragment_has_only_the_vessels_asked_for(client: httpx.Client) -> None:
    page = client.get("/rows", params={"ids": "amber-lark,fern-island,nobody"}).text
    assert [v for _, v, _ in rows(page)] == ["amber-lark", "fern-island"]
    assert 'id="counts"' in page


def test_troubles_of_the_watch_itself_stand_at_the_top(yard: Yard, client: httpx.Client) -> None:
    yard.health = replace(yard.health, connected=False, since_ms=yard.now_ms - HOUR_MS)
    page = client.get("/").text
    assert "Not connected to the broker since 17:02" in page
    # Deaf, the watch promises nothing.
    assert "Nothing was amiss when last heard, 18:00" in page
    assert "Nothing needs doing" not in page
    yard.health = replace(yard.health, connected=True, loop_alive=False)
    assert "The watch has stopped" in client.get("/vessels/fern-island").text


def test_a_name_from_a_record_is_no_markup(yard: Yard, client: httpx.Client) -> None:
    yard.lay_up(record("odd-one", "<img src=x onerror=alert(1)>"))
    for path in ("/", "/vessels/odd-one"):
        assert "<img" not in client.get(path).text


def test_silence_that_must_be_looked_at_at_once_is_act_now(yard: Yard, client: httpx.Client) -> None:
    silent = next(a for a in yard.alerts.values() if a.rule == "silence")
    silent.priority = silent.highest = Priority.ALARM
    yard.open_alert("grey-heron", replace(silent.finding, priority=Priority.ALARM))
    assert ("act-now", "grey-heron") in [(rank, v) for rank, v, _ in rows(client.get("/").text)]
