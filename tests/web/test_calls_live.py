"""What the yard page says of the fleet stays fresh while it is open."""

from collections.abc import Callable

import pytest
from conftest import Window
from playwright.sync_api import expect
from told import call_of
from yards import HOUR_MS, Yard, frost, reading

from monitor.model.call import CallKind, FleetCause
from monitor.model.scale import Priority

pytestmark = pytest.mark.browser


def test_a_fleet_event_appears_on_an_open_yard_page(yard: Yard, open_window: Callable[..., Window]) -> None:
    window = open_window("/", width=360)
    page = window.page
    expect(page.locator("#calls a")).to_have_count(0)
    alerts = [yard.open_alert(v, frost(Priority.WARNING), HOUR_MS) for v in ("iris-day", "fern-island")]
    yard.told.made.append(call_of(alerts, FleetCause.FROST.value, CallKind.FLEET))
    yard.hear([reading("fern-island", "cabin", yard.now_ms, 4.0)])
    told = "Soon Frost: 2 boats, first at plot B8 Nobody has had it since 17:02"
    expect(page.locator("#calls a")).to_contain_text(told, timeout=8_000)
    assert window.complaints == []


def test_what_somebody_is_choosing_is_not_swept_away(yard: Yard, open_window: Callable[..., Window]) -> None:
    page = open_window("/vessels/dove-hollow").page
    page.get_by_text("Somebody goes aboard").click()
    page.get_by_label("What is done").select_option("lift")
    page.evaluate("document.activeElement.blur()")
    yard.open_alert("dove-hollow", frost(Priority.ALARM), HOUR_MS)
    expect(page.locator(".verdict")).to_contain_text("Act now", timeout=8_000)
    expect(page.get_by_label("What is done")).to_have_value("lift")
