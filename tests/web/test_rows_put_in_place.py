"""A whole yard page that comes again: only the rows that have changed are put in place."""

from collections.abc import Callable

import pytest
from conftest import Window
from playwright.sync_api import expect
from yards import HOUR_MS, Yard, frost

from monitor.model.scale import Priority
from monitor.web import Changes

pytestmark = pytest.mark.browser
MORE_THAN_ARE_ASKED_FOR_SINGLY = 200


def test_rows_that_stand_as_before_stay_where_they_are(yard: Yard, open_window: Callable[..., Window]) -> None:
    page = open_window("/").page
    rows = page.locator("#vessels > li")
    expect(rows.first).to_have_attribute("data-vessel", "amber-lark")
    before = [row.get_attribute("data-vessel") for row in rows.all()]
    page.evaluate("for (const row of document.querySelectorAll('#vessels > li')) row.wasHere = true")
    told, yard.changes = yard.changes, Changes()  # committed, and the page is told of so much that it asks for all
    yard.open_alert("fern-island", frost(Priority.ALARM, -9.9), 6 * HOUR_MS)
    for alert in [a for a in yard.alerts.values() if a.vessel == "amber-lark"]:
        yard.clear(alert)
    told.publish(yard.seq, [f"boat-{number}" for number in range(MORE_THAN_ARE_ASKED_FOR_SINGLY)])
    expect(rows.first).to_have_attribute("data-vessel", "fern-island", timeout=8_000)
    expect(page.locator("#vessels > li[data-vessel=amber-lark]")).to_contain_text("Cleared")
    after = [row.get_attribute("data-vessel") for row in rows.all()]
    orders = [row.get_attribute("data-order") for row in rows.all()]
    assert sorted(after, key=str) == sorted(before, key=str)
    assert orders == sorted(orders, key=str)
    new = page.evaluate("[...document.querySelectorAll('#vessels > li')].filter((row) => !row.wasHere).length")
    assert new == 2
