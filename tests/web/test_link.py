"""The page of the link in a message: it asks, is used once, and afterwards says who has it, without reproach."""

import re
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import httpx
import pytest
from test_acts import text_of
from watched import WatchedYard, flooded_yard

from monitor.model.alert import AlertChange
from monitor.model.inputs import Acknowledge, Shelve
from monitor.model.notice import Notice
from monitor.web import Deps

Ask = Callable[[Deps], httpx.Client]
ANNA = "Anna Tolley"


@pytest.fixture
def storm(tmp_path: Path) -> Iterator[WatchedYard]:
    """Four boats with water at their floats, of which one message tells."""
    made = flooded_yard(tmp_path / "storm.db", boats=4)
    yield made
    made.close()


@pytest.fixture
def asking(storm: WatchedYard, cache_dir: Path, ask: Ask) -> httpx.Client:
    return ask(storm.deps(cache_dir, roster=storm.roster))


def widest(storm: WatchedYard) -> Notice:
    """Give the notice that tells of the most alerts."""
    calls = storm.view.calls(open_only=False)
    return max((n.notice for c in calls for n in storm.view.notices(c.id)), key=lambda notice: len(notice.alerts))


@pytest.fixture
def notice(storm: WatchedYard) -> Notice:
    return widest(storm)


@pytest.fixture
def path(storm: WatchedYard, notice: Notice) -> str:
    return f"/a/{storm.links.sign(notice.id)}"


def heading_of(page: str) -> str:
    found = re.search(r"<h1[^>]*>(.*?)</h1>", page)
    assert found is not None
    return found[1]


def acknowledge(storm: WatchedYard, alerts: tuple[str, ...], name: str) -> None:
    for alert_id in alerts:
        alert = storm.view.alert(alert_id)
        assert alert is not None
        storm.fleet.command(Acknowledge(alert.vessel, alert_id, storm.now_ms, name))
    storm.flush()


def seen_events(storm: WatchedYard, notice: Notice) -> list[tuple[str, str]]:
    events = [event for alert in notice.alerts for event in storm.view.events(alert)]
    return [(event.alert, event.actor) for event in events if event.change is AlertChange.ACKNOWLEDGED]


def test_it_asks_one_question_with_one_button_and_says_then_that_you_have_it(
    notice: Notice, path: str, asking: httpx.Client
) -> None:
    page = asking.get(path).text
    assert heading_of(page) == "Do you have it?"
    assert re.findall(r"<button[^>]*>(.*?)</button>", page) == ["I have it"]
    assert f"Say so for all {len(notice.alerts)}" in text_of(page)
    done = asking.post(path, data={"name": "ANNA"}).text
    assert heading_of(done) == "You have it"
    assert "Nothing more to do here" in text_of(done)
    assert "<form" not in done
    assert "used" not in text_of(done)
    assert f'href="/calls/{notice.call}"' in done


def test_whoever_opens_it_later_reads_who_has_it_since_when(
    storm: WatchedYard, notice: Notice, path: str, asking: httpx.Client
) -> None:
    acknowledge(storm, notice.alerts, "Maud Farrier")
    page = asking.get(path).text
    assert heading_of(page) == "Maud Farrier has it since 18:02"
    assert "<form" not in page


def test_of_two_who_have_it_both_are_named(storm: WatchedYard, notice: Notice, path: str, asking: httpx.Client) -> None:
    acknowledge(storm, notice.alerts[:1], "Maud Farrier")
    asking.post(path, data={"name": ANNA})
    assert heading_of(asking.get(path).text) == "Maud Farrier and Anna Tolley have it"


def test_what_has_cleared_can_only_be_seen(storm: WatchedYard, asking: httpx.Client, path: str) -> None:
    for vessel in ("amber-lark", "barley-moon", "copper-wren", "dove-hollow"):
        storm.sensed(vessel, "float", 0.0, ago_ms=0)
    storm.passes(8)
    page = asking.get(path).text
    assert heading_of(page) == "Have you seen it?"
    assert re.findall(r"<button[^>]*>(.*?)</button>", page) == ["Seen"]
    assert heading_of(asking.post(path, data={"name": ANNA}).text) == "You have seen it"


def test_what_is_put_aside_asks_nobody(storm: WatchedYard, asking: httpx.Client, notice: Notice, path: str) -> None:
    for alert_id in notice.alerts:
        alert = storm.view.alert(alert_id)
        assert alert is not None
        aside = Shelve(alert.vessel, alert_id, storm.now_ms, ANNA, "pumps come", storm.now_ms + 3_600_000)
        storm.fleet.command(aside)
    storm.flush()
    page = asking.get(path).text
    assert heading_of(page) == "It is put aside"
    assert "<form" not in page


def test_what_is_news_again_after_its_link_was_used_leads_to_her_page(
    storm: WatchedYard, asking: httpx.Client, notice: Notice, path: str
) -> None:
    asking.post(path, data={"name": ANNA})
    for alert_id in notice.alerts[:1]:
        body = {"name": ANNA, "reason": "pump", "until": "+1h"}
        assert asking.post(f"/api/alerts/{alert_id}/shelve", json=body).status_code == 200
    storm.passes(1.1)
    page = asking.get(path).text
    assert heading_of(page) == "Something of it waits"
    assert "This link has been used, and works once. Nobody has seen 1 of it" in text_of(page)
    before = len(storm.commands)
    assert asking.post(path, data={"name": ANNA}).status_code == 200
    assert len(storm.commands) == before


def test_two_quick_presses_are_one(storm: WatchedYard, asking: httpx.Client, notice: Notice, path: str) -> None:
    assert len(notice.alerts) > 1
    names = [ANNA, "Maud Farrier"] * 4
    with ThreadPoolExecutor(len(names)) as presses:
        answers = list(presses.map(lambda name: asking.post(path, data={"name": name}), names))
    assert {answer.status_code for answer in answers} == {200}
    events = seen_events(storm, notice)
    assert sorted(alert for alert, _ in events) == sorted(notice.alerts)
    assert len({actor for _, actor in events}) == 1


def test_what_is_handed_to_its_reader_is_taken_on_by_their_earlier_link_once(
    storm: WatchedYard, asking: httpx.Client, notice: Notice, path: str
) -> None:
    acknowledge(storm, notice.alerts, "Maud Farrier")
    handed = notice.alerts[0]
    asking.post(f"/api/alerts/{handed}/hand-over", json={"name": "maud", "to": "anna"})
    page = asking.get(path).text
    assert heading_of(page) == "Maud Farrier hands it to you: do you take it?"
    assert re.findall(r"<button[^>]*>(.*?)</button>", page) == ["I have it"]
    done = asking.post(path, data={"name": "Somebody Else"})
    assert done.status_code == 200
    kept = storm.view.alert(handed)
    assert kept is not None
    assert (kept.has_it, kept.offered_to) == (ANNA, None)  # in its reader's name alone
    asking.post(f"/api/alerts/{handed}/accept", json={"name": "maud"})
    asking.post(f"/api/alerts/{handed}/hand-over", json={"name": "maud", "to": "anna"})
    page = asking.get(path).text
    assert heading_of(page) == "Maud Farrier hands it to you"
    assert "This link has been used, and works once." in text_of(page)
    assert "<form" not in page


def test_what_is_handed_to_another_asks_nothing_of_this_reader(
    storm: WatchedYard, asking: httpx.Client, notice: Notice, path: str
) -> None:
    acknowledge(storm, notice.alerts, ANNA)
    for alert in notice.alerts:
        asking.post(f"/api/alerts/{alert}/hand-over", json={"name": "anna", "to": "maud"})
    assert heading_of(asking.get(path).text) == "You have it"
