"""The form of a visit and its API, over the real app and in a real browser at the width of a phone."""

import re
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import httpx
import pytest
from axe_playwright_python.sync_playwright import Axe
from conftest import Window
from playwright.sync_api import expect
from visiting import VisitedYard, walked_yard
from yards import HOUR_MS, reading

from monitor.model.alert import AlertChange
from monitor.model.inputs import Confirm, VisitReport
from monitor.model.people import YardPerson
from monitor.model.roster import Roster
from monitor.model.scale import AlertState
from monitor.model.visit import Found, HandReading, Read
from monitor.web import Deps
from monitor.web.visit_form import number

Open = Callable[..., Window]
AXE = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
FORM = "/vessels/amber-lark/visit"
GOOD = {
    "name": "Anna Tolley",
    "found": "as told",
    "checked": ["bilge.main", "gone"],
    "readings.volts.house": "12,41",
    "note": "Ice in the strainer",
}


@pytest.fixture
def yard(tmp_path: Path) -> Iterator[VisitedYard]:
    made = walked_yard(tmp_path / "journal.db")
    yield made
    made.close()


@pytest.fixture
def frosty(yard: VisitedYard) -> str:
    return next(a.id for a in yard.alerts.values() if a.rule == "frost")


@pytest.fixture
def wet(yard: VisitedYard) -> str:
    return next(a.id for a in yard.alerts.values() if a.rule == "bilge")


def reports(yard: VisitedYard) -> list[VisitReport]:
    return [c for c in yard.commands if isinstance(c, VisitReport)]


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        ("12.41", 12.41),
        ("12,41", 12.41),
        (" 12,41 ", 12.41),
        ("-3.5", -3.5),
        ("\N{MINUS SIGN}3,5", -3.5),
        ("0", 0.0),
        ("12.4 V", 12.4),
        ("1.234,5", None),
        ("12..4", None),
        ("--3", None),
        ("-", None),
        ("twelve", None),
        ("1e9", None),
        ("nan", None),
        ("\N{ARABIC-INDIC DIGIT ONE}", None),
    ],
)
def test_a_number_is_read_with_point_or_comma(typed: str, value: float | None) -> None:
    assert number(typed, "V") == value


def test_what_was_read_is_shown_beside_the_sensor_at_once(yard: VisitedYard, client: httpx.Client, frosty: str) -> None:
    sent = GOOD | {"checked": "bilge.main", "readings.dip.main": "50", f"alerts.{frosty}": "as-told"}
    page = client.post(FORM, data=sent).text
    assert "They agree.</b> By hand 12.41 V, by the sensor 12.38 V at 18:01." in page
    # 50 mm by the stick, 10 mm by the sensor: 2 * sqrt(3**2 + 5**2) is 11.7 mm.
    assert "They differ.</b> By hand 50 mm, by the sensor 10 mm at 18:00. That is 40 mm apart" in page
    assert "more than the 12 mm that both can err. Trust the dip, check the sensor" in page
    (report,) = reports(yard)
    assert report.actor == "Anna Tolley"
    assert report.visit.found is Found.AS_TOLD
    assert report.visit.checked == ("bilge.main",)
    assert report.visit.readings == (
        HandReading(Read.DIP, "main", 0.05, "level", 0.01, yard.now_ms - 120_000),
        HandReading(Read.VOLTS, "house", 12.41, "volts", 12.38, yard.now_ms - 60_000),
    )
    assert report.visit.confirmed == (frosty,)
    confirms = [c for c in yard.commands if isinstance(c, Confirm)]
    assert confirms == [Confirm("amber-lark", frosty, yard.now_ms, "Anna Tolley", "Ice in the strainer")]
    assert "Ice in the strainer" in page


def test_nothing_wrong_is_handed_in_as_a_false_call(
    yard: VisitedYard, client: httpx.Client, frosty: str, wet: str
) -> None:
    sent = {"name": "Anna", "found": Found.FALSE_CALL.value, f"alerts.{frosty}": "nothing", f"alerts.{wet}": "nothing"}
    assert client.post(FORM, data=sent).status_code == 200
    assert {(c.alert, c.nothing_wrong) for c in yard.commands if isinstance(c, Confirm)} == {
        (frosty, True),
        (wet, True),
    }
    assert set(reports(yard)[0].visit.nothing_wrong) == {frosty, wet}
    assert client.get("/api/visits").json()["false_calls"] == 1


@pytest.mark.parametrize(
    ("change", "field", "says"),
    [
        ({"readings.volts.house": "12.4.1"}, "readings.volts.house", "House battery, volts: 12.4.1 is no number"),
        ({"readings.volts.house": "12410"}, "readings.volts.house", "12410 V cannot be: it lies between 0 and 64 V"),
        ({"readings.dip.main": "9000"}, "readings.dip.main", "9000 mm cannot be: it lies between 0 and 5000 mm"),
        ({"readings.dip.main": "-4"}, "readings.dip.main", "cannot be"),
        ({"readings.humidity.saloon": "101"}, "readings.humidity.saloon", "between 0 and 100 %"),
        ({"name": "  "}, "name", "Write who you are"),
        ({"found": ""}, "found", "Choose one of the four"),
        ({"checked": "no-such"}, "checked", "No-such is not on her list of checks"),
        ({"alerts.abc": "as-told"}, "alerts.abc", "No open alert of hers is called abc"),
    ],
)
def test_a_mistake_keeps_what_was_typed_and_says_what_where_and_what_to_do(
    yard: VisitedYard, client: httpx.Client, change: dict[str, str], field: str, says: str
) -> None:
    sent = GOOD | {"checked": "bilge.main"} | change
    answer = client.post(FORM, data=sent)
    assert answer.status_code == 422
    page = answer.text
    assert "Not sent yet" in page
    assert says in page
    for key, value in sent.items():
        if key.startswith("readings."):
            assert re.search(rf'name="{re.escape(key)}" value="{re.escape(value)}"', page)
    assert "Ice in the strainer" in page
    if 'id="' + field + '"' in page:
        assert f'href="#{field}"' in page
    assert reports(yard) == []


def test_an_alert_cannot_be_closed_without_a_word_or_against_what_was_found(
    yard: VisitedYard, client: httpx.Client, frosty: str
) -> None:
    silent = {"name": "Anna", "found": "as told", f"alerts.{frosty}": "as-told"}
    assert "Write in a few words what you found" in client.post(FORM, data=silent).text
    odd = silent | {"found": Found.FALSE_CALL.value, "note": "Nothing there"}
    assert "Change one of the two" in client.post(FORM, data=odd).text
    assert yard.commands == []


def test_a_form_that_the_watch_refuses_is_not_lost(yard: VisitedYard, client: httpx.Client) -> None:
    yard.answer = "the visit was before her lay-up: put its time right"
    answer = client.post(FORM, data=GOOD | {"checked": "bilge.main"})
    assert answer.status_code == 409
    assert "The visit was before her lay-up" in answer.text
    assert "Ice in the strainer" in answer.text


def test_an_alert_that_could_not_be_closed_is_said_and_the_visit_stands(
    yard: VisitedYard, client: httpx.Client, frosty: str
) -> None:
    yard.refusals[frosty] = "it is over"
    page = client.post(FORM, data=GOOD | {"checked": "bilge.main", f"alerts.{frosty}": "as-told"}).text
    assert "these alerts could not be closed by it" in page
    assert "Engine closed cooling" in page
    assert len(yard.told.found) == 1


def test_a_double_tap_is_one_visit(yard: VisitedYard, client: httpx.Client) -> None:
    sent = GOOD | {"checked": "bilge.main"}
    first = client.post(FORM, data=sent)
    yard.now_ms += 2_000
    second = client.post(FORM, data=sent)
    assert first.url == second.url
    assert len(yard.told.found) == 1
    yard.now_ms += HOUR_MS
    client.post(FORM, data=sent)
    assert len(yard.told.found) == 2


def test_two_taps_at_once_are_one_visit(yard: VisitedYard, client: httpx.Client, wet: str) -> None:
    sent = GOOD | {"checked": "bilge.main", f"alerts.{wet}": "as-told"}
    with ThreadPoolExecutor(4) as taps:
        pages = list(taps.map(lambda _: httpx.post(client.base_url.join(FORM), data=sent), range(4)))
    assert {page.status_code for page in pages} == {303}
    assert len({page.headers["location"] for page in pages}) == 1
    assert len(yard.told.found) == len(reports(yard)) == 1
    assert len([c for c in yard.commands if isinstance(c, Confirm)]) == 1


def test_a_double_tap_on_what_closes_an_alert_is_no_mistake(yard: VisitedYard, client: httpx.Client, wet: str) -> None:
    sent = GOOD | {"checked": "bilge.main", f"alerts.{wet}": "as-told"}
    first = client.post(FORM, data=sent)
    closed = yard.alerts[wet]
    closed.state, closed.ended_ms = AlertState.NORMAL, yard.now_ms
    yard.happens(closed, AlertChange.ENDED, yard.now_ms)
    yard.now_ms += 2_000
    second = client.post(FORM, data=sent)
    assert (second.status_code, second.url) == (200, first.url)
    assert len(yard.told.found) == 1


def test_what_was_lost_with_the_answer_is_made_good_when_it_is_sent_again(
    yard: VisitedYard, client: httpx.Client, frosty: str
) -> None:
    sent = GOOD | {"checked": "bilge.main", f"alerts.{frosty}": "as-told"}
    client.post(FORM, data=sent)
    # As if the agent had been stopped between the visit and what it says of the alert.
    yard.alerts[frosty].confirmed_ms = yard.alerts[frosty].confirmed_by = None
    yard.happens(yard.alerts[frosty], AlertChange.REOPENED, yard.now_ms)
    yard.now_ms += 60_000
    client.post(FORM, data=sent)
    assert len(yard.told.found) == 1
    assert yard.alerts[frosty].confirmed_by == "Anna Tolley"


def test_a_double_tap_is_one_visit_though_somebody_else_was_aboard_between(
    yard: VisitedYard, client: httpx.Client
) -> None:
    sent = GOOD | {"checked": "bilge.main"}
    for name in ("Anna Tolley", "Wilf Sandring", "Anna Tolley"):
        assert client.post(FORM, data=sent | {"name": name}).status_code == 200
        yard.now_ms += 2_000
    assert [v.actor for v in yard.told.found] == ["Wilf Sandring", "Anna Tolley"]


def test_who_was_aboard_is_who_the_settings_call_so(
    yard: VisitedYard, cache_dir: Path, ask: Callable[[Deps], httpx.Client]
) -> None:
    people = tuple(YardPerson(id=i, name=n) for i, n in (("anna", "Anna Tolley"), ("ann", "Ann Tolley")))
    client = ask(yard.deps(cache_dir, roster=Roster(people)))
    sent = GOOD | {"checked": "bilge.main"}
    unclear = client.post(FORM, data=sent | {"name": "tolley", "readings.volts.house": "700"})
    assert unclear.status_code == 422
    assert "could be Anna Tolley or Ann Tolley: write more of the name" in unclear.text
    assert "700 V cannot be" in unclear.text
    assert yard.commands == []
    for name in ("anna", "ANNA TOLLEY"):
        assert client.post(FORM, data=sent | {"name": name}).status_code == 200
    page = client.post(FORM, data=sent | {"name": "Joss Reed"}).text
    assert "The yard&#39;s list of people has no Joss Reed" in page
    assert [v.actor for v in yard.told.found] == ["Joss Reed", "Anna Tolley"]


def test_the_same_through_the_api_is_one_visit(yard: VisitedYard, client: httpx.Client) -> None:
    sent = {"name": "Anna", "found": "as told", "note": "Ice"}
    first, second = (client.post("/api/vessels/amber-lark/visits", json=sent) for _ in range(2))
    assert (first.status_code, second.status_code) == (201, 201)
    assert first.json()["at"] == second.json()["at"]
    assert len(yard.told.found) == 1


def test_a_sensor_that_fell_silent_is_not_held_against_the_hand(yard: VisitedYard, client: httpx.Client) -> None:
    yard.now_ms += 5 * HOUR_MS
    yard.hear([reading("amber-lark", "cabin", yard.now_ms, 3.0)])
    page = client.post(FORM, data=GOOD | {"checked": "bilge.main"}).text
    assert "Too long ago to compare.</b> By hand 12.41 V. The sensor last said 12.38 V at 18:01." in page
    assert client.get("/api/visits").json()["compared"] == 0


def test_text_from_a_form_is_no_markup(client: httpx.Client) -> None:
    bad = "<img src=x>"
    sent: dict[str, Any] = GOOD | {"checked": "bilge.main", "note": bad, "name": bad}
    assert bad not in client.post(FORM, data=sent).text
    assert bad not in client.post(FORM, data=sent | {"readings.dip.main": bad}).text


def test_a_visit_by_the_api_comes_back_beside_the_sensors(yard: VisitedYard, client: httpx.Client, frosty: str) -> None:
    sent: dict[str, Any] = {
        "name": "Anna Tolley",
        "found": "as told",
        "checked": ["bilge.main"],
        "readings": [{"what": "dip", "subject": "main", "value": 0.05}],
        "alerts": [{"alert": frosty}],
        "note": "Ice",
    }
    yard.refusals[frosty] = "it is over"
    answer = client.post("/api/vessels/amber-lark/visits", json=sent)
    assert answer.status_code == 201
    made = answer.json()
    assert made["readings"][0]["verdict"] == "differ"
    assert made["readings"][0]["difference"] == pytest.approx(0.04)
    assert made["refused"] == [{"key": frosty, "reason": "it is over"}]
    assert client.get("/api/visits").json()["visits"][0]["note"] == "Ice"


def test_every_mistake_sent_to_the_api_is_named_at_once(yard: VisitedYard, client: httpx.Client, frosty: str) -> None:
    sent = {
        "name": "",
        "found": "well",
        "checked": ["nothing"],
        "readings": [
            {"what": "volts", "subject": "house", "value": 700},
            {"what": "volts", "subject": "nowhere", "value": 12},
            {"what": "dip", "subject": "main", "value": 0.01},
            {"what": "dip", "subject": "main", "value": 0.02},
        ],
        "alerts": [{"alert": "nobodys"}],
    }
    answer = client.post("/api/vessels/amber-lark/visits", json=sent)
    assert answer.status_code == 422
    assert [e["key"] for e in answer.json()["errors"]] == [
        *("name", "checked", "readings.dip.main", "readings.volts.house", "readings.volts.nowhere"),
        *("alerts.nobodys", "note", f"alerts.{frosty}", "found"),
    ]
    assert client.post("/api/vessels/nobody/visits", json=sent).status_code == 404
    assert client.get("/vessels/nobody/visit").status_code == 404
    assert client.get("/vessels/amber-lark/visits/5").status_code == 404
    assert yard.commands == []


@pytest.mark.browser
@pytest.mark.parametrize("javascript", [True, False])
def test_the_form_is_filled_in_on_a_phone(
    yard: VisitedYard,
    open_window: Open,
    frosty: str,
    javascript: bool,
) -> None:
    window = open_window(FORM, width=360, javascript=javascript)
    page = window.page
    for tick in page.locator(".tick, .visit button, .measure input").all():
        box = tick.bounding_box()
        assert box is not None
        assert box["height"] >= 44
    page.get_by_label("Main bilge: look in").check()
    page.get_by_label("House battery, volts").fill("12.4.1")
    page.locator(f'input[name="alerts.{frosty}"][value="as-told"]').check()
    page.get_by_label("What the alerts said is so").check()
    page.get_by_label("Note").fill("Ice in the strainer, drained it")
    page.get_by_label("Your name").fill("Anna Tolley")
    page.get_by_role("button", name="Send").click()
    expect(page.get_by_role("alert")).to_contain_text("12.4.1 is no number. Write it like 12.4 or 12,4")
    volts = page.get_by_label("House battery, volts")
    expect(volts).to_have_value("12.4.1")
    expect(volts).to_have_attribute("aria-invalid", "true")
    expect(page.get_by_label("Main bilge: look in")).to_be_checked()
    expect(page.locator(f'input[name="alerts.{frosty}"][value="as-told"]')).to_be_checked()
    if javascript:
        found = Axe().run(page, options=AXE)
        assert found.violations_count == 0, found.generate_report()
    volts.fill("12,41")
    page.get_by_role("button", name="Send").click()
    expect(page.locator(".compared")).to_contain_text("They agree. By hand 12.41 V, by the sensor 12.38 V at 18:01.")
    assert page.evaluate("document.documentElement.scrollWidth") <= 360 if javascript else True
    assert len(yard.told.found) == 1
    assert yard.alerts[frosty].confirmed_by == "Anna Tolley"
    if javascript:
        found = Axe().run(page, options=AXE)
        assert found.violations_count == 0, found.generate_report()
