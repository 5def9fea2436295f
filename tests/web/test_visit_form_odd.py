"""A visit against which its own readings or the alerts in force speak: it comes back filled, with what to do."""

import html
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import httpx
import pytest
from axe_playwright_python.sync_playwright import Axe
from conftest import Window
from playwright.sync_api import expect
from visiting import VisitedYard, walked_yard
from yards import frost

from monitor.model.alert import Alert, AlertChange
from monitor.model.finding import Figure
from monitor.model.inputs import Confirm, VisitReport
from monitor.model.scale import AlertState, Priority
from monitor.model.visit import Found

AXE = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
FORM, API = "/vessels/copper-wren/visit", "/api/vessels/copper-wren/visits"
WELL, AS_TOLD, FALSE_CALL = Found.WELL.value, Found.AS_TOLD.value, Found.FALSE_CALL.value


@pytest.fixture
def yard(tmp_path: Path) -> Iterator[VisitedYard]:
    made = walked_yard(tmp_path / "journal.db")
    yield made
    made.close()


@pytest.fixture
def floating(yard: VisitedYard) -> str:
    """An alarm of a float that is up, on a boat whose high mark is 100 mm."""
    up = replace(frost(Priority.ALARM), rule="bilge", subject="main", kind="float", figure=Figure(1.0, None, "/"))
    facts: dict[str, Any] = {"name": "Main bilge", "up_ms": yard.now_ms - 60_000}
    return yard.open_alert("copper-wren", replace(up, harm=None, causes=(), first=(), never=(), facts=facts)).id


@pytest.fixture
def flat(yard: VisitedYard) -> str:
    """A warning of a battery that is below 12.2 V."""
    low = replace(frost(Priority.WARNING), rule="battery", subject="house", kind="low", figure=Figure(11.9, 12.2, "V"))
    return yard.open_alert("copper-wren", replace(low, harm=None, causes=(), first=(), never=())).id


def reports(yard: VisitedYard) -> list[VisitReport]:
    return [c for c in yard.commands if isinstance(c, VisitReport)]


def wrong(page: str) -> dict[str, str]:
    """Give what stands beside each field that is wrong."""
    found = re.findall(r'<p class="wrong" id="wrong-([^"]+)">([^<]*)</p>', page)
    return {key: html.unescape(reason) for key, reason in found}


def test_all_well_with_a_dip_over_the_high_mark_comes_back_filled(yard: VisitedYard, client: httpx.Client) -> None:
    sent = {"name": "Anna", "found": WELL, "readings.dip.main": "140", "note": "Looked in", "checked": "lines"}
    answer = client.post(FORM, data=sent)
    assert answer.status_code == 422
    assert wrong(answer.text) == {
        "readings.dip.main": "Main bilge, dip: 140 mm is at or over the high mark of 100 mm. That is too much water.",
        "found": "“All well: nothing wants doing” does not fit what you read by hand. "
        "Choose “Something nobody told of”, or correct what is marked.",
    }
    page = answer.text
    for kept in ('name="readings.dip.main" value="140"', 'value="well" checked', 'value="lines" checked', "Looked in"):
        assert kept in page
    assert 'name="name" value="Anna"' in page
    assert 'href="#readings.dip.main"' in page
    assert 'href="#group-found"' in page
    assert yard.commands == []
    told = sent | {"found": Found.NOT_TOLD.value}
    assert client.post(FORM, data=told).status_code == 200
    assert reports(yard)[0].visit.found is Found.NOT_TOLD


def test_all_well_with_a_float_alarm_in_force_says_what_to_choose(
    yard: VisitedYard, client: httpx.Client, floating: str
) -> None:
    sent = {"name": "Anna", "found": WELL, "readings.dip.main": "20"}
    found = wrong(client.post(FORM, data=sent).text)
    assert set(found) == {f"alerts.{floating}", "found"}
    assert (
        "still stands. Say here what you found of it; “Nothing wrong with it” wants a note."
        in found[f"alerts.{floating}"]
    )
    assert "does not fit what still stands. Choose “What the alerts said is so”" in found["found"]
    assert yard.commands == []


def test_a_float_that_is_stuck_is_all_well_once_it_is_said_of_it_with_a_note(
    yard: VisitedYard, client: httpx.Client, floating: str
) -> None:
    sent = {"name": "Anna", "found": WELL, "readings.dip.main": "20", f"alerts.{floating}": "nothing"}
    found = wrong(client.post(FORM, data=sent).text)
    assert list(found) == ["note"]
    assert "Write what you saw" in found["note"]
    assert client.post(FORM, data=sent | {"note": "A rag held the float up"}).status_code == 200
    assert [c.nothing_wrong for c in yard.commands if isinstance(c, Confirm)] == [True]


def test_an_alert_that_the_dip_proves_cannot_be_called_nothing(
    yard: VisitedYard, client: httpx.Client, floating: str
) -> None:
    sent = {"name": "Anna", "found": FALSE_CALL, "readings.dip.main": "140", f"alerts.{floating}": "nothing"}
    found = wrong(client.post(FORM, data=sent).text)
    assert set(found) == {"readings.dip.main", f"alerts.{floating}", "found"}
    assert "Choose “It is, or was, as told”, or put the number right." in found[f"alerts.{floating}"]
    assert "Choose “What the alerts said is so”" in found["found"]
    assert yard.commands == []


def test_volts_below_what_the_alert_was_told_for_are_not_all_well(
    yard: VisitedYard, client: httpx.Client, flat: str
) -> None:
    sent = {"name": "Anna", "found": FALSE_CALL, "readings.volts.house": "12,1", "note": "Charger was off"}
    found = wrong(client.post(FORM, data=sent).text)
    assert "House battery, volts: 12.10 V is below 12.20 V." in found["readings.volts.house"]
    assert set(found) == {"readings.volts.house", "found"}
    told = sent | {"found": AS_TOLD, f"alerts.{flat}": "as-told"}
    assert client.post(FORM, data=told).status_code == 200
    assert len(reports(yard)) == 1


def test_the_same_is_said_through_the_api(yard: VisitedYard, client: httpx.Client, floating: str) -> None:
    sent = {"name": "Anna", "found": WELL, "readings": [{"what": "dip", "subject": "main", "value": 0.14}]}
    answer = client.post(API, json=sent)
    assert answer.status_code == 422
    assert answer.json()["detail"] == "3 mistakes in the visit."
    errors = {e["key"]: e["reason"] for e in answer.json()["errors"]}
    assert list(errors) == ["readings.dip.main", f"alerts.{floating}", "found"]
    assert (
        "does not fit what you read by hand, and what still stands. Choose “What the alerts said is so”"
        in errors["found"]
    )
    assert yard.commands == []


@pytest.mark.parametrize("choice", [None, ""])
def test_where_nothing_was_chosen_only_that_is_said(client: httpx.Client, floating: str, choice: str | None) -> None:
    sent = {"name": "Anna", "readings.dip.main": "140"} | ({} if choice is None else {"found": choice})
    assert wrong(client.post(FORM, data=sent).text) == {"found": "Choose one of the four: what did you find?"}
    assert floating


def test_what_nobody_told_of_wants_a_note(client: httpx.Client) -> None:
    found = wrong(client.post(FORM, data={"name": "Anna", "found": Found.NOT_TOLD.value}).text)
    assert found == {"note": "Nobody had told of what you found. Write what it was: nobody knows of it yet."}


@pytest.mark.browser
def test_on_a_phone_what_is_wrong_stands_beside_its_field(
    yard: VisitedYard, open_window: Callable[..., Window], floating: str
) -> None:
    window = open_window(FORM, width=360)
    page = window.page
    page.get_by_label("Main bilge, dip").fill("140")
    page.get_by_label("All well: nothing wants doing").check()
    page.get_by_label("Your name").fill("Anna Tolley")
    page.get_by_role("button", name="Send").click()
    group = page.locator("#group-found")
    expect(group).to_contain_text("Choose “What the alerts said is so”")
    expect(page.get_by_label("All well: nothing wants doing")).to_be_checked()
    expect(page.get_by_label("Main bilge, dip")).to_have_value("140")
    expect(page.get_by_label("Main bilge, dip")).to_have_attribute("aria-invalid", "true")
    found = Axe().run(page, options=AXE)
    assert found.violations_count == 0, found.generate_report()
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    page.locator(f'input[name="alerts.{floating}"][value="as-told"]').check()
    page.get_by_label("What the alerts said is so").check()
    page.get_by_label("Note").fill("Pumped her out")
    page.get_by_role("button", name="Send").click()
    expect(page.locator("main")).to_contain_text("It still stands, and stays on the round until it clears.")
    assert len(reports(yard)) == 1


def end(yard: VisitedYard, name: str) -> Alert:
    """Let an alert end, as it does where a boat comes right while somebody fills in the form."""
    alert = yard.alerts[name]
    alert.state, alert.returned_ms, alert.ended_ms = AlertState.NORMAL, yard.now_ms - 1_000, yard.now_ms - 1_000
    yard.happens(alert, AlertChange.ENDED, yard.now_ms - 1_000)
    return alert


def test_an_alert_that_ended_while_the_form_was_filled_in_is_looked_into_all_the_same(
    yard: VisitedYard, client: httpx.Client, floating: str, flat: str
) -> None:
    end(yard, floating)
    sent = {"name": "Anna", "found": AS_TOLD, "readings.dip.main": "140", "note": "Pumped her out"}
    answers = {f"alerts.{floating}": "as-told", f"alerts.{flat}": "nothing"}
    answer = client.post(FORM, data=sent | answers)
    assert answer.status_code == 200
    (visit,) = [report.visit for report in reports(yard)]
    assert set(visit.confirmed) == {floating, flat}
    assert visit.nothing_wrong == (flat,)
    assert [c.alert for c in yard.commands if isinstance(c, Confirm)] == [flat]
    assert "could not be closed" not in answer.text


def test_an_alert_that_ended_keeps_what_was_said_of_it_where_the_form_comes_back(
    yard: VisitedYard, client: httpx.Client, floating: str
) -> None:
    end(yard, floating)
    answer = client.post(FORM, data={"name": "Anna", f"alerts.{floating}": "as-told", "note": "Pumped"})
    assert wrong(answer.text) == {"found": "Choose one of the four: what did you find?"}
    assert f'id="group-alerts.{floating}"' in answer.text
    assert f'name="alerts.{floating}" value="as-told" checked' in answer.text
    assert "It has ended meanwhile." in answer.text
    assert floating not in client.get(FORM).text


def test_the_api_takes_a_visit_to_an_alert_that_has_ended_and_none_of_another_boat(
    yard: VisitedYard, client: httpx.Client, floating: str
) -> None:
    end(yard, floating)
    other = next(a.id for a in yard.alerts.values() if a.vessel != "copper-wren")
    sent = {"name": "Anna", "found": AS_TOLD, "note": "Pumped", "alerts": [{"alert": floating}]}
    refused = client.post(API, json=sent | {"alerts": [{"alert": floating}, {"alert": other}]})
    assert refused.status_code == 422
    assert [e["key"] for e in refused.json()["errors"]] == [f"alerts.{other}"]
    answer = client.post(API, json=sent)
    assert answer.status_code == 201
    assert answer.json()["refused"] == []
    assert [r.visit.confirmed for r in reports(yard)] == [(floating,)]


def test_an_alert_that_ends_in_the_moment_it_is_confirmed_is_not_refused(
    yard: VisitedYard, client: httpx.Client, floating: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    taken = yard._take

    def ends_first(command: Any, answer: Any) -> None:
        if isinstance(command, Confirm):
            end(yard, command.alert)
            answer.set_result("it has ended")
        else:
            taken(command, answer)

    monkeypatch.setattr(yard, "_take", ends_first)
    sent = {"name": "Anna", "found": AS_TOLD, "note": "Pumped", "alerts": [{"alert": floating}]}
    answer = client.post(API, json=sent)
    assert (answer.status_code, answer.json()["refused"]) == (201, [])


def test_an_alert_that_is_nobodys_is_named_without_a_link_to_what_is_not_there(client: httpx.Client) -> None:
    answer = client.post(FORM, data={"name": "Anna", "found": WELL, "alerts.0123456789abcdef": "as-told", "note": "x"})
    assert answer.status_code == 422
    assert "No open alert of hers is called 0123456789abcdef" in answer.text
    assert "#group-alerts.0123456789abcdef" not in answer.text


def test_of_what_is_put_aside_nothing_is_asked(yard: VisitedYard, client: httpx.Client, floating: str) -> None:
    alert = yard.alerts[floating]
    alert.state, alert.aside_by, alert.aside_why = AlertState.SHELVED, "Per Ask", "float sent for"
    alert.aside_until_ms = yard.now_ms + 3_600_000
    yard.happens(alert, AlertChange.SHELVED, yard.now_ms, "Per Ask", "float sent for")
    page = client.get(FORM).text
    assert f'name="alerts.{floating}"' not in page
    assert "Nothing has to be said of this." in page
    assert "Put aside until " in page
    assert "by Per Ask: float sent for" in page
    assert client.post(FORM, data={"name": "Anna", "found": WELL}).status_code == 200
    said = {"name": "Bo", f"alerts.{floating}": "as-told"}
    assert f'name="alerts.{floating}" value="as-told" checked' in client.post(FORM, data=said).text
