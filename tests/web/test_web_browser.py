"""The pages in a real browser, against a real server."""

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from conftest import Served, Window
from playwright.sync_api import Browser, expect
from yards import HOUR_MS, Yard, frost, reading, record

from monitor.model.scale import Priority
from monitor.web import Deps

pytestmark = pytest.mark.browser
Open = Callable[..., Window]
CHARTS = 5


def test_the_yard_page_lives(yard: Yard, open_window: Open) -> None:
    window = open_window("/")
    page = window.page
    rows = page.locator("#vessels > li")
    expect(rows.first).to_have_attribute("data-vessel", "amber-lark")
    expect(rows.last).to_have_attribute("data-vessel", "fern-island")
    yard.open_alert("fern-island", frost(Priority.ALARM, -9.9), 6 * HOUR_MS)
    expect(rows.first).to_have_attribute("data-vessel", "fern-island", timeout=8_000)
    expect(rows.first).to_contain_text("Act now")
    expect(page.locator("#counts")).to_contain_text("2 Act now")
    expect(page).to_have_title("(2) Eiderhythe Yard")
    expect(page.locator("#announce")).to_contain_text("Fern Island")
    assert rows.count() == 10
    assert window.complaints == []


def test_a_boat_heard_again_shows_when(yard: Yard, open_window: Open) -> None:
    page = open_window("/").page
    row = page.locator('[data-vessel="jolly-plover"]')
    expect(row).to_contain_text("No data")
    yard.hear([reading("jolly-plover", "cabin", yard.now_ms, 4.0)])
    expect(row).to_contain_text("Nothing needs doing; heard 18:02", timeout=8_000)


def test_the_keyboard_keeps_its_place_while_rows_change(yard: Yard, open_window: Open) -> None:
    page = open_window("/").page
    page.locator('[data-vessel="jolly-plover"] a').focus()
    yard.hear([reading("jolly-plover", "cabin", yard.now_ms, 4.0)])
    expect(page.locator('[data-vessel="jolly-plover"]')).to_contain_text("18:02", timeout=8_000)
    expect(page.locator('[data-vessel="jolly-plover"] a')).to_be_focused()


def test_the_vessel_page_draws_every_chart_without_a_complaint(open_window: Open) -> None:
    for scheme in ("light", "dark"):
        window = open_window("/vessels/amber-lark", scheme=scheme)
        window.page.wait_for_selector("body[data-drawn]", timeout=30_000)
        charts = window.page.locator(".chart svg")
        assert charts.count() == CHARTS
        for n in range(CHARTS):
            assert charts.nth(n).locator(".mark-line path[d]").count() >= 1
        assert window.complaints == []


def test_one_moment_is_read_in_all_charts_at_once(open_window: Open) -> None:
    page = open_window("/vessels/amber-lark").page
    page.wait_for_selector("body[data-drawn]", timeout=30_000)
    page.locator('[data-chart="volts"]').hover()
    for key in ("temperatures", "humidity", "dew-point", "volts", "bilge"):
        expect(page.locator(f"#reads-{key}")).to_contain_text(re.compile(r"^\w{3} \d"))
        expect(page.locator(f'[data-chart="{key}"] .cursor')).to_be_visible()
    times = {page.locator(f"#reads-{key}").inner_text().split(" · ")[0] for key in ("temperatures", "bilge")}
    assert len(times) == 1
    page.mouse.move(5, 5)
    expect(page.locator("#reads-volts")).to_have_text("")


def test_the_vessel_page_lives(yard: Yard, open_window: Open) -> None:
    page = open_window("/vessels/fern-island").page
    expect(page.locator(".verdict")).to_contain_text("Nothing needs doing")
    yard.open_alert("fern-island", frost(Priority.WARNING))
    expect(page.locator(".verdict")).to_contain_text("close to its freezing point", timeout=8_000)
    expect(page.locator("article.alert")).to_have_count(1)


def test_what_somebody_is_writing_is_not_swept_away(yard: Yard, open_window: Open) -> None:
    page = open_window("/vessels/barley-moon").page
    yard.open_alert("barley-moon", replace(frost(Priority.CAUTION), subject="heads"))
    note = page.locator("form[action$=acknowledge] input[name=note]")
    expect(note).to_have_count(1, timeout=8_000)
    page.get_by_text("What it tells, and what to do").click()
    note.fill("half a senten")
    yard.open_alert("barley-moon", replace(frost(Priority.ALARM), subject="raw-water"))
    expect(page.locator(".verdict")).to_contain_text("Act now", timeout=8_000)
    assert note.input_value() == "half a senten"


@pytest.mark.parametrize("javascript", [True, False])
def test_an_alert_is_acknowledged(yard: Yard, open_window: Open, javascript: bool) -> None:
    window = open_window("/vessels/dove-hollow", javascript=javascript)
    seen = window.page.locator("form[action$=acknowledge]")
    seen.get_by_label("Your name").fill("Odile Marrick")
    seen.get_by_label("Note").fill("after lunch")
    window.page.get_by_role("button", name="I have seen this").click()
    expect(window.page.locator("article.alert")).to_contain_text("Seen by Odile Marrick")
    expect(window.page.get_by_role("button", name="I have seen this")).to_have_count(0)
    assert [getattr(c, "actor", None) for c in yard.commands] == ["Odile Marrick"]
    assert window.complaints == []


PHONE_PATHS = [
    "/",
    "/vessels/amber-lark",
    "/vessels/hazel-row",
    "/calls",
    "/load",
    "/undelivered",
    "/rejects",
    "/nowhere",
]


@pytest.mark.parametrize("path", PHONE_PATHS)
def test_a_phone_scrolls_one_way_only(open_window: Open, path: str) -> None:
    page = open_window(path, width=360).page
    if path == "/vessels/amber-lark":
        page.wait_for_selector("body[data-drawn]", timeout=30_000)
    assert page.evaluate("document.documentElement.scrollWidth") <= 360


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1280, 360])
@pytest.mark.parametrize(
    "path", ["/", "/vessels/amber-lark", "/vessels/iris-day", "/calls", "/load", "/undelivered", "/rejects", "/nowhere"]
)
def test_axe_finds_nothing(open_window: Open, path: str, width: int, scheme: str) -> None:
    page = open_window(path, width=width, scheme=scheme).page
    if "amber" in path:
        page.wait_for_selector("body[data-drawn]", timeout=30_000)
    options = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
    found = Axe().run(page, options=options)
    assert found.violations_count == 0, found.generate_report()


def test_a_boats_page_is_no_long_way_down_on_a_phone(open_window: Open) -> None:
    page = open_window("/vessels/amber-lark", width=360).page
    page.wait_for_selector("body[data-drawn]", timeout=30_000)
    assert page.evaluate("document.documentElement.scrollHeight") < 4_500
    tops = {name: page.locator(name).bounding_box() for name in (".verdict", "#calls", "#card", "#alerts")}
    order = sorted(tops, key=lambda name: tops[name]["y"])  # type: ignore[index] - each of them is shown
    assert order == [".verdict", "#calls", "#card", "#alerts"]


def test_the_menu_stands_in_one_line_on_a_phone(open_window: Open) -> None:
    nav = open_window("/", width=360).page.locator(".top nav")
    box = nav.bounding_box()
    assert box is not None
    assert box["height"] < 60
    assert nav.evaluate("nav => nav.scrollWidth <= nav.clientWidth")


def test_charts_stand_side_by_side_on_a_phone_and_under_each_other_else(open_window: Open) -> None:
    for width, side_by_side in ((360, True), (1280, False)):
        page = open_window("/vessels/amber-lark", width=width).page
        page.wait_for_selector("body[data-drawn]", timeout=30_000)
        first, second = (page.locator("figure").nth(n).bounding_box() for n in (0, 1))
        assert first is not None
        assert second is not None
        assert (first["y"] == second["y"]) is side_by_side


def test_what_is_touched_is_big_enough(open_window: Open) -> None:
    page = open_window("/vessels/amber-lark", width=360).page
    page.evaluate("for (const folded of document.querySelectorAll('details')) folded.open = true")
    seen = [control.bounding_box() for control in page.locator("button, input:not([type=hidden]), nav a").all()]
    boxes = [box for box in seen if box is not None]  # a menu of a phone has two forms, of which one is shown
    assert len(boxes) > 10
    assert [box for box in boxes if box["height"] < 44] == []


def test_ten_tabs_do_not_hang(yard: Yard, served: Served, browser: Browser) -> None:
    context = browser.new_context()
    pages = [context.new_page() for _ in range(10)]
    for page in pages:
        page.goto(f"{served.address}/", timeout=5_000)
    yard.hear([reading("jolly-plover", "cabin", yard.now_ms, 4.0)])
    for page in pages:
        expect(page.locator('[data-vessel="jolly-plover"]')).to_contain_text("18:02", timeout=10_000)
    assert yard.changes.followers <= 1
    context.close()


def test_without_shared_workers_a_hidden_tab_closes_its_line(yard: Yard, served: Served, browser: Browser) -> None:
    context = browser.new_context()
    context.add_init_script("delete window.SharedWorker")
    page = context.new_page()
    page.goto(f"{served.address}/")
    page.wait_for_timeout(500)
    yard.hear([reading("jolly-plover", "cabin", yard.now_ms, 4.0)])
    expect(page.locator('[data-vessel="jolly-plover"]')).to_contain_text("18:02", timeout=8_000)
    hide = "Object.defineProperty(document, 'hidden', {get: () => %s, configurable: true});"
    fire = "document.dispatchEvent(new Event('visibilitychange'))"
    page.evaluate(hide % "true" + fire)
    page.wait_for_timeout(1_500)
    yard.hear([reading("grey-heron", "cabin", yard.now_ms, 4.0)])
    page.wait_for_timeout(1_500)
    assert yard.changes.followers == 0
    expect(page.locator('[data-vessel="grey-heron"]')).to_contain_text("never heard")
    page.evaluate(hide % "false" + fire)
    expect(page.locator('[data-vessel="grey-heron"]')).to_contain_text("18:02", timeout=8_000)
    context.close()


def test_a_dead_line_is_said_and_healed(yard: Yard, deps: Deps, open_window: Open, served: Served) -> None:
    page = open_window("/").page
    page.wait_for_timeout(500)
    port = served.port
    deps.changes.close()
    served.stop()
    expect(page.locator("#line")).to_have_text(re.compile(r"Not updating since 18:02\."), timeout=20_000)
    fresh = replace(deps, changes=type(deps.changes)(yard.seq))
    yard.changes = fresh.changes
    again = Served(fresh, port)
    try:
        yard.hear([reading("jolly-plover", "cabin", yard.now_ms, 4.0)])
        expect(page.locator("#line")).to_be_hidden(timeout=20_000)
        expect(page.locator('[data-vessel="jolly-plover"]')).to_contain_text("18:02", timeout=10_000)
    finally:
        fresh.changes.close()
        again.stop()


def test_the_first_vessel_appears_on_an_empty_page(
    tmp_path: Path, cache_dir: Path, serve: Callable[[Deps], Served], browser: Browser
) -> None:
    yard = Yard(tmp_path / "empty.db")
    page = browser.new_page()
    page.goto(f"{serve(yard.deps(cache_dir)).address}/")
    expect(page.get_by_text("No boats yet")).to_be_visible()
    page.wait_for_timeout(500)
    yard.lay_up(record("first-one", "First One"))
    expect(page.locator('[data-vessel="first-one"]')).to_contain_text("Not heard yet", timeout=8_000)
    page.close()
    yard.close()


def test_a_search_finds_as_it_does_without_javascript(open_window: Open) -> None:
    page = open_window("/").page
    page.get_by_label("Find a boat").fill("heron")
    page.get_by_role("button", name="Find").click()
    expect(page.locator("#vessels > li")).to_have_count(1)
