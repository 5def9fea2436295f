"""Going through time on the charts in a real browser: by keyboard, by dragging, by buttons, and back."""

import re
from collections.abc import Callable

import pytest
from axe_playwright_python.sync_playwright import Axe
from conftest import Served, Window
from playwright.sync_api import Browser, Page, expect
from yards import HOUR_MS, Yard

from monitor.model.batch import Batch
from monitor.model.inputs import ForecastVersion, VisitReport
from monitor.model.surroundings import Forecast
from monitor.model.visit import Found, VisitNote

pytestmark = pytest.mark.browser
Open = Callable[..., Window]
BOAT = "/vessels/amber-lark"
NIGHT = f"{BOAT}?from=2013-12-08T18:00&to=2013-12-09T09:00"
OPTIONS = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}


@pytest.fixture(autouse=True)
def foretold(yard: Yard) -> None:
    """There is a forecast, and somebody was aboard."""
    hours = [(yard.now_ms + h * HOUR_MS, -3.0 + h % 5) for h in range(-3, 72)]
    version = ForecastVersion(Forecast.of(yard.now_ms - 3 * HOUR_MS, hours), yard.now_ms - 3 * HOUR_MS)
    yard.commit(Batch(inputs=[(yard.next_seq(), version)]))
    yard.told.found = [VisitReport("amber-lark", yard.now_ms - 20 * HOUR_MS, "Wilf Sandring", VisitNote(Found.WELL))]


def drawn(page: Page, times: int = 1) -> None:
    expect(page.locator("body")).to_have_attribute("data-drawn", re.compile(rf"^([{times}-9]|\d\d)$"), timeout=30_000)


def test_the_keyboard_reads_a_moment_in_all_charts_and_says_it_aloud(open_window: Open) -> None:
    window = open_window(BOAT)
    page = window.page
    drawn(page)
    page.locator(".figures").focus()
    page.keyboard.press("Home")
    for _ in range(30):
        page.keyboard.press("ArrowRight")
    reads = [page.locator(f"#reads-{key}").inner_text() for key in ("temperatures", "humidity", "volts", "bilge")]
    assert len({text.split(" · ")[0] for text in reads}) == 1
    assert "Main bilge" in reads[-1]
    for key in ("temperatures", "humidity", "volts", "bilge"):
        expect(page.locator(f'[data-chart="{key}"] .cursor')).to_be_visible()
    expect(page.locator("#read-aloud")).to_contain_text("engine space")
    page.keyboard.press("Escape")
    expect(page.locator("#reads-bilge")).to_have_text("")
    assert window.complaints == []


def test_a_span_chosen_by_keyboard_is_seen_closer_and_the_address_carries_it(open_window: Open) -> None:
    window = open_window(BOAT)
    page = window.page
    drawn(page)
    page.locator(".figures").focus()
    page.keyboard.press("Home")
    for _ in range(10):
        page.keyboard.press("ArrowRight")
    for _ in range(20):
        page.keyboard.press("Shift+ArrowRight")
    expect(page.locator("#reads-volts")).to_contain_text(" to ")
    page.keyboard.press("Enter")
    drawn(page, 2)
    assert re.search(r"\?from=2013-12-08T\d\d:\d\d&to=2013-12-08T\d\d:\d\d#charts$", page.url)
    expect(page.locator(".shown-span")).to_contain_text("Sun 8 Dec 2013")
    expect(page.locator(".figures")).to_be_focused()
    page.keyboard.press("-")
    drawn(page, 3)
    wide = page.url
    page.go_back()
    drawn(page, 4)
    assert page.url != wide
    page.go_back()
    drawn(page, 5)
    assert "from=" not in page.url
    expect(page.locator(".shown-span")).to_have_text("")
    assert window.complaints == []


def test_dragging_over_a_chart_sees_that_time_closer(open_window: Open) -> None:
    page = open_window(BOAT).page
    drawn(page)
    chart = page.locator('[data-chart="volts"]')
    chart.scroll_into_view_if_needed()
    box = chart.bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 250, box["y"] + 100)
    page.mouse.down()
    page.mouse.move(box["x"] + 400, box["y"] + 100, steps=5)
    expect(page.locator('[data-chart="bilge"] .chosen')).to_be_visible()
    page.mouse.up()
    drawn(page, 2)
    assert re.search(r"\?from=2013-12-0[89]T\d\d:\d\d&to=2013-12-09T\d\d:\d\d#charts$", page.url)


def test_dragging_over_an_alerts_chart_leads_to_that_time_on_the_vessels_page(yard: Yard, open_window: Open) -> None:
    alert = next(a.id for a in yard.alerts.values() if a.vessel == "amber-lark" and a.subject == "closed-cooling")
    page = open_window(f"/alerts/{alert}").page
    drawn(page)
    chart = page.locator('[data-chart="temperatures"]')
    chart.scroll_into_view_if_needed()
    box = chart.bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 250, box["y"] + 100)
    page.mouse.down()
    page.mouse.move(box["x"] + 450, box["y"] + 100, steps=5)
    page.mouse.up()
    page.wait_for_url(re.compile(r"/vessels/amber-lark\?from=2013-12-0\dT\d\d:\d\d&to="))


def test_a_finger_reads_a_moment_and_looks_closer_about_it_by_the_button(browser: Browser, served: Served) -> None:
    context = browser.new_context(viewport={"width": 360, "height": 780}, has_touch=True, is_mobile=True)
    page = context.new_page()
    page.goto(served.address + BOAT)
    drawn(page)
    page.locator('[data-chart="temperatures"]').tap(position={"x": 150, "y": 100})
    expect(page.locator("#reads-temperatures")).to_contain_text("outside air")
    expect(page.locator("#chart-keys")).to_be_hidden()
    page.get_by_role("link", name="Closer").tap()
    drawn(page, 2)
    assert re.search(r"from=2013-12-08T\d\d:\d\d&to=2013-12-09T\d\d:\d\d#charts$", page.url)
    context.close()


def test_a_click_that_drags_nothing_goes_nowhere(open_window: Open) -> None:
    page = open_window(BOAT).page
    drawn(page)
    page.locator('[data-chart="volts"]').click(position={"x": 300, "y": 90})
    expect(page.locator("#reads-bilge")).to_contain_text("Main bilge")
    assert page.url.endswith(BOAT)


def test_the_links_go_through_time_without_loading_the_page_anew_and_keep_the_keyboards_place(
    open_window: Open,
) -> None:
    page = open_window(BOAT).page
    drawn(page)
    page.evaluate("window.stays = true")
    page.get_by_role("link", name="Last night").click()
    drawn(page, 2)
    page.get_by_role("link", name="Earlier").focus()
    page.keyboard.press("Enter")
    drawn(page, 3)
    assert page.url.endswith("from=2013-12-07T18:00&to=2013-12-08T09:00#charts")
    expect(page.get_by_role("link", name="Earlier")).to_be_focused()
    assert page.evaluate("window.stays") is True


def test_without_a_script_the_links_and_the_form_go_through_time(open_window: Open) -> None:
    page = open_window(BOAT, javascript=False).page
    page.get_by_role("link", name="Last night").click()
    assert page.url.endswith("?from=2013-12-08T18:00&to=2013-12-09T09:00#charts")
    expect(page.locator("#says-bilge")).to_contain_text("Main bilge")
    page.get_by_text("Another time").click()
    page.get_by_label("From").fill("2013-12-08T00:00")
    page.get_by_role("button", name="Show it").click()
    expect(page.locator(".shown-span")).to_have_text("Sun 8 Dec 2013, 00:00 to Mon 9 Dec 2013, 09:00")


def test_what_is_to_come_is_read_as_foretold_and_never_as_not_heard(open_window: Open) -> None:
    page = open_window(BOAT).page
    drawn(page)
    page.locator(".figures").focus()
    page.keyboard.press("End")
    for _ in range(5):
        page.keyboard.press("ArrowLeft")
    expect(page.locator("#reads-temperatures")).to_contain_text("outside air, foretold")
    assert "nothing heard" not in page.locator("#reads-temperatures").inner_text()
    assert "nothing heard" not in page.locator("#reads-volts").inner_text()


def test_a_zoomed_page_lives_on(yard: Yard, open_window: Open) -> None:
    page = open_window(NIGHT).page
    drawn(page)
    for alert in list(yard.alerts.values()):
        if alert.vessel == "amber-lark" and alert.is_open:
            yard.clear(alert)
    expect(page.locator("#alerts")).to_contain_text("readings came back", timeout=8_000)
    assert page.url.endswith("to=2013-12-09T09:00")
    assert page.locator('[aria-current="true"]', has_text="Last night").count() == 1


@pytest.mark.parametrize(("width", "scheme"), [(1280, "light"), (360, "dark")])
@pytest.mark.parametrize("path", [NIGHT, f"{BOAT}?from=x&to=y", "alert", "/rules", "/rules/frost", "/rules/silence"])
def test_axe_finds_nothing_and_a_phone_scrolls_one_way(
    yard: Yard, open_window: Open, path: str, width: int, scheme: str
) -> None:
    alert = next(a.id for a in yard.alerts.values() if a.vessel == "amber-lark" and a.subject == "closed-cooling")
    page = open_window(f"/alerts/{alert}" if path == "alert" else path, width=width, scheme=scheme).page
    if "rules" not in path:
        drawn(page)
    found = Axe().run(page, options=OPTIONS)
    assert found.violations_count == 0, found.generate_report()
    assert page.evaluate("document.documentElement.scrollWidth") <= width
