"""The owner's page in a real browser: on a phone, in the dark, live, and for who cannot see it."""

from collections.abc import Callable

import pytest
from axe_playwright_python.sync_playwright import Axe
from conftest import Served, Window
from playwright.sync_api import expect
from yards import HOUR_MS, Yard, frost

from monitor.model.scale import Priority

pytestmark = pytest.mark.browser
Open = Callable[..., Window]
BOATS = ("amber-lark", "ember-quay", "fern-island", "grey-heron", "hazel-row", "jolly-plover")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_on_a_phone_everything_fits_and_axe_finds_nothing(open_window: Open, scheme: str) -> None:
    for boat in BOATS:
        window = open_window(f"/vessels/{boat}?as=owner", width=360, scheme=scheme)
        page = window.page
        if page.locator("[data-chart]").count():
            page.wait_for_selector("body[data-drawn]", timeout=30_000)
            assert page.locator(".chart svg").count() == 2
        assert page.evaluate("document.documentElement.scrollWidth") == 360, boat
        results = Axe().run(page)
        assert results.violations_count == 0, (boat, results.generate_report())
        for control in page.locator("main a.button, main button").all():
            box = control.bounding_box()
            assert box is not None
            assert box["height"] >= 44, (boat, control.inner_text())
        assert window.complaints == [], boat


def test_the_sentence_is_large_and_comes_first(open_window: Open) -> None:
    page = open_window("/vessels/fern-island?as=owner", width=360).page
    first = page.locator(".owner-first")
    expect(first).to_contain_text("Nothing needs doing. Heard ")
    box = first.bounding_box()
    assert box is not None
    assert box["y"] < 500
    sizes = page.evaluate("[...document.querySelectorAll('main p')].map(p => parseFloat(getComputedStyle(p).fontSize))")
    assert float(first.evaluate("p => parseFloat(getComputedStyle(p).fontSize)")) == max(sizes)


def test_it_changes_while_it_is_open(yard: Yard, open_window: Open) -> None:
    window = open_window("/vessels/fern-island?as=owner", width=360)
    page = window.page
    expect(page.locator(".owner-first")).to_contain_text("Nothing needs doing.")
    yard.open_alert("fern-island", frost(Priority.ALARM, -9.9), HOUR_MS)
    told = "It is cold aboard, and frost could reach the engine's cooling."
    expect(page.locator(".owner-first")).to_have_text(told, timeout=8_000)
    expect(page.locator("#history")).to_contain_text(told, timeout=8_000)
    expect(page).to_have_title(f"Fern Island: {told}")
    assert window.complaints == []


def test_it_says_when_it_is_not_up_to_date_any_more(served: Served, open_window: Open) -> None:
    page = open_window("/vessels/fern-island?as=owner", width=360).page
    expect(page.locator("#line")).to_be_hidden()
    served.stop()
    expect(page.locator("#line")).to_contain_text("Not updating since 18:02", timeout=20_000)


def test_without_javascript_the_sentences_say_what_the_pictures_show(open_window: Open) -> None:
    page = open_window("/vessels/amber-lark?as=owner", javascript=False).page
    expect(page.locator("#says-winter")).to_contain_text("The nearest that frost has come this winter")
    # Chromium with scripts switched off still shows no noscript part; another browser does.
    assert "The pictures need JavaScript" in page.content()
