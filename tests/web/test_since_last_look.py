"""What changed since somebody last looked: told as few plain lines, and lost by nobody who has not seen it."""

import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import httpx
import pytest
from conftest import Served, Window
from playwright.sync_api import expect
from told import call_of
from yards import HOUR_MS, Yard, frost, record

from monitor.model.access import Grade, Known, Means
from monitor.model.alert import AlertChange, AlertEvent
from monitor.model.call import CallKind
from monitor.model.scale import AlertState, Priority
from monitor.model.vessel import Mode
from monitor.web import Deps
from monitor.web.since_story import stories

Ask = Callable[[Deps], httpx.Client]
ITEM = re.compile(r"<li><time datetime=[^>]*>[^<]*</time>(.*?)</li>", re.DOTALL)
UP_TO = re.compile(r'name="up_to" value="(\d+)"><input type="hidden" name="at_ms" value="(\d+)"')


def items(page: str) -> list[str]:
    """Give the lines of what changed, as text."""
    return [" ".join(re.sub(r"<[^>]*>", " ", text).split()) for text in ITEM.findall(page)]


def looked(client: httpx.Client) -> httpx.Response:
    """Press the button of the page of what changed."""
    found = UP_TO.search(client.get("/since").text)
    assert found is not None
    return client.post("/since", data={"up_to": found[1], "at_ms": found[2]})


def test_nothing_is_marked_by_looking_at_a_page_and_all_is_by_saying_so(yard: Yard, client: httpx.Client) -> None:
    first = items(client.get("/since").text)
    assert first
    for _ in range(2):
        client.get("/")
    assert items(client.get("/since").text) == first
    assert "Nothing has changed" in looked(client).text
    assert items(client.get("/since").text) == []
    assert "<b>Nothing has changed</b> since you last looked, 18:02" in client.get("/").text
    yard.now_ms += HOUR_MS
    yard.open_alert("fern-island", frost(Priority.ALARM), 0)
    (line,) = items(client.get("/").text)
    assert "Act now: Fern Island, plot B5 New: Engine closed cooling is close to its freezing point" in line
    assert "<b>1 change</b> since you last looked" in client.get("/").text


def test_what_comes_in_while_somebody_reads_stays_new(yard: Yard, client: httpx.Client) -> None:
    found = UP_TO.search(client.get("/since").text)
    assert found is not None
    yard.open_alert("fern-island", frost(Priority.ALARM), 0)
    client.post("/since", data={"up_to": found[1], "at_ms": found[2]})
    assert len(items(client.get("/since").text)) == 1


def test_a_second_device_is_told_for_itself(deps: Deps, ask: Ask) -> None:
    desk = ask(deps)
    phone = httpx.Client(base_url=desk.base_url, follow_redirects=True)
    looked(desk)
    assert items(desk.get("/since").text) == []
    assert items(phone.get("/since").text)
    phone.close()


@pytest.mark.parametrize("up_to", ["", "-1", "x", "9" * 30, "99999"])
def test_a_mark_that_cannot_be_is_refused_in_words(client: httpx.Client, up_to: str) -> None:
    answer = client.post("/since", data={"up_to": up_to, "at_ms": "0"})
    assert answer.status_code == 422
    assert "open the page again" in answer.text


def test_a_journal_that_was_put_back_to_before_the_mark_shows_the_last_day(client: httpx.Client) -> None:
    client.get("/since")
    looked(client)
    name = next(iter(client.cookies.keys()))
    client.cookies.clear()
    client.cookies.set(name, "999999.1")
    assert "In the last day" in client.get("/since").text


def test_the_box_can_be_marked_only_where_all_of_it_is_shown(yard: Yard, client: httpx.Client) -> None:
    looked(client)
    for number in range(7):
        yard.open_alert("fern-island", replace(frost(Priority.CAUTION), subject=f"thing-{number}"), 0)
    page = client.get("/").text
    assert len(items(page)) == 5
    assert "All 7 changes" in page
    assert "I have looked at this" not in page
    assert "I have looked at this" in client.get("/since").text


def test_boats_that_came_and_moved_and_what_was_found_aboard_are_told(yard: Yard, client: httpx.Client) -> None:
    looked(client)
    yard.lay_up(record("kite-song", "Kite Song", "C1"), at_ms=yard.now_ms)
    yard.lay_up(record("fern-island", "Fern Island", "D9"), at_ms=yard.now_ms)
    afloat = {"plot": None, "berth": "A2", "mode": Mode.AFLOAT_LAID_UP}
    yard.lay_up(record("grey-heron", "Grey Heron").model_copy(update=afloat), at_ms=yard.now_ms)
    yard.lay_up(record("hazel-row", "Hazel Row", "B7", engineer="Somebody Else"), at_ms=yard.now_ms)
    page = client.get("/since").text
    assert "Kite Song New here: plot C1, ashore bung out, by Hanno Brightwell" in items(page)
    assert "Fern Island Moved from plot B5 to plot D9 by Hanno Brightwell" in items(page)
    assert (
        "Grey Heron Moved from plot B6 to berth A2 by Hanno Brightwell; now afloat laid up, before ashore bung out"
        in items(page)
    )
    assert not any("Hazel Row" in line for line in items(page))


def test_one_frost_over_many_boats_is_one_line(yard: Yard, client: httpx.Client) -> None:
    looked(client)
    names = [f"row-{n}" for n in range(40)]
    yard.lay_up(*(record(name, name.title(), f"E{n}") for n, name in enumerate(names)))
    looked(client)
    alerts = [yard.open_alert(name, frost(Priority.WARNING), 0) for name in names]
    yard.told.made.append(call_of(alerts, "frost", CallKind.FLEET))
    for alert in alerts[:3]:
        alert.ended_ms, alert.state = yard.now_ms, AlertState.NORMAL
        yard.happens(alert, AlertChange.ENDED, yard.now_ms)
    assert items(client.get("/since").text) == ["Frost: 40 boats, first at plot E0 New on 37; came and went on 3"]


def test_an_owner_is_told_of_their_boats_alone(deps: Deps, ask: Ask, monkeypatch: pytest.MonkeyPatch) -> None:
    owner = Known("Tamsin", Grade.OWNER, Means.LINK, vessels=frozenset({"dove-hollow"}))
    monkeypatch.setattr("monitor.web.door.known_by", lambda *_: owner)
    client = ask(deps)
    page = client.get("/since").text
    assert items(page)
    assert all("Dove Hollow" in line for line in items(page))
    assert "Amber Lark" not in client.get("/").text


def event(change: AlertChange, **changes: Any) -> AlertEvent:
    """Give an event of one alert."""
    made = AlertEvent("a", "tern", 0, change, AlertState.UNACKNOWLEDGED, Priority.WARNING, "watch")
    return replace(made, **changes)


OPENED = event(AlertChange.OPENED)
ROSE = event(AlertChange.PRIORITY, was=Priority.WARNING, priority=Priority.ALARM)
FELL = event(AlertChange.PRIORITY, was=Priority.ALARM, priority=Priority.WARNING)
RETURNED, ENDED = event(AlertChange.RETURNED), event(AlertChange.ENDED)
TAKEN = event(AlertChange.ACCEPTED, actor="Anna Tolley")
REOPENED = event(AlertChange.REOPENED)


@pytest.mark.parametrize(
    ("events", "lead", "people"),
    [
        ([OPENED], "New", ()),
        ([OPENED, ROSE], "New, and got worse", ()),
        ([OPENED, RETURNED], "New, and cleared", ()),
        ([OPENED, RETURNED, ENDED], "Came and went", ()),
        ([RETURNED], "Cleared", ()),
        ([event(AlertChange.LATCHED)], "Cleared", ()),
        ([RETURNED, ENDED], "Over", ()),
        ([RETURNED, REOPENED], "Came back", ()),
        ([ROSE], "Got worse", ()),
        ([TAKEN], "", ("Anna Tolley has it",)),
        ([TAKEN, REOPENED], "Came back", ()),
        ([event(AlertChange.SHELVED, actor="Anna Tolley"), event(AlertChange.BACK)], "", ("no longer put aside",)),
    ],
)
def test_an_alerts_events_are_told_as_one(events: list[AlertEvent], lead: str, people: tuple[str, ...]) -> None:
    newest_first = [(seq, one) for seq, one in enumerate(events, 1)][::-1]
    (story,) = stories(newest_first)
    assert (story.lead, story.people, story.seq) == (lead, people, len(events))


def test_what_got_better_by_itself_and_stands_on_is_nothing_to_tell() -> None:
    assert stories([(1, FELL)]) == []


@pytest.mark.browser
def test_a_page_left_open_marks_what_it_came_with_and_lives_on(
    yard: Yard, served: Served, open_window: Callable[..., Window]
) -> None:
    page = open_window("/", width=360).page
    page.locator(".since-box > summary").click()
    page.get_by_role("link", name=re.compile(r"All \d+ changes")).click()
    with page.expect_navigation():  # it is first asked who answers, and then sent
        page.get_by_role("button", name="I have looked at this").click()
    page.goto(served.address + "/")
    expect(page.locator("#since-head")).to_contain_text("Nothing has changed")
    yard.open_alert("fern-island", frost(Priority.ALARM), 0)
    expect(page.locator("#since-head")).to_contain_text("1 change", timeout=8_000)
