"""What people do with alerts in a real browser: by the link in a message, and with a thumb on a phone."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from conftest import Window
from playwright.sync_api import Locator, expect
from watched import WatchedYard, flooded_yard

from monitor.model.call import CallKind
from monitor.model.inputs import Aboard, Shelve, Suppress
from monitor.model.scale import AlertState

pytestmark = pytest.mark.browser
PHONE = 360
Open = Callable[..., Window]


@pytest.fixture
def yard(tmp_path: Path) -> Iterator[WatchedYard]:
    """Four boats with water at their floats: what the windows of these tests look at."""
    made = flooded_yard(tmp_path / "storm.db", boats=4)
    yield made
    made.close()


@pytest.fixture
def named_yard(yard: WatchedYard, monkeypatch: pytest.MonkeyPatch) -> WatchedYard:
    """The same yard, whose pages know its people."""
    plain = yard.deps
    monkeypatch.setattr(yard, "deps", lambda cache_dir: plain(cache_dir, roster=yard.roster))
    return yard


def address(yard: WatchedYard, page: str) -> str:
    """Give the address of a page by its name."""
    fleet = next(c.id for c in yard.view.calls(open_only=True) if c.kind is CallKind.FLEET)
    link = f"/a/{yard.links.sign(yard.first_notice('Anna Tolley').id)}"
    return {"call": f"/calls/{fleet}", "link": link, "vessel": "/vessels/amber-lark", "yard": "/"}.get(page, f"/{page}")


def put_aside(yard: WatchedYard) -> None:
    """Put one alert aside and let somebody go aboard another, so that the pages have both to show."""
    bilge = yard.alert_of("amber-lark", "bilge").id
    yard.fleet.command(Shelve("amber-lark", bilge, yard.now_ms, "Anna Tolley", "pump", yard.now_ms + 3_600_000))
    aboard = Suppress("amber-lark", yard.now_ms, "Joss Reed", Aboard.PEOPLE, yard.now_ms + 3_600_000)
    yard.fleet.command(aboard)
    yard.flush()


def test_an_alert_is_acknowledged_by_the_link_in_a_message(yard: WatchedYard, open_window: Open) -> None:
    window = open_window(address(yard, "link"), width=PHONE)
    expect(window.page.get_by_label("Your name")).to_have_value("Anna Tolley")
    assert yard.commands == []
    window.page.get_by_role("button", name="I have it").click()
    expect(window.page.get_by_role("heading", level=1)).to_have_text("You have it")
    expect(window.page.locator("main")).to_contain_text("Seen by Anna Tolley 18:02")
    told = [yard.view.alert(alert) for alert in yard.first_notice("Anna Tolley").alerts]
    assert [alert is not None and alert.acknowledged_by for alert in told] == ["Anna Tolley"]
    assert window.complaints == []


@pytest.mark.parametrize("javascript", [True, False])
def test_an_alert_is_put_aside_on_a_phone(yard: WatchedYard, open_window: Open, javascript: bool) -> None:
    window = open_window(address(yard, "vessel"), width=PHONE, javascript=javascript)
    alert = yard.alert_of("amber-lark", "bilge")
    shown = window.page.locator(f"#alert-{alert.id}")
    shown.get_by_text("Put it aside for a while").click()
    form = shown.locator("form[action$=shelve]")
    form.get_by_label("Your name").fill("Anna Tolley")
    form.get_by_label("Why").fill("the pump is being changed")
    for control in form.locator("input, button").all():
        assert height_of(control) >= 44
    form.get_by_role("button", name="Put it aside").click()
    aside = window.page.locator("#put-aside")
    expect(aside).to_contain_text("Put aside by Anna Tolley until 19:02: the pump is being changed.")
    assert yard.alert_of("amber-lark", "bilge").state is AlertState.SHELVED
    assert window.page.evaluate("document.documentElement.scrollWidth") <= PHONE
    assert window.complaints == []


def test_the_rarer_acts_stay_behind_their_lines(yard: WatchedYard, open_window: Open) -> None:
    page = open_window(address(yard, "vessel")).page
    alert = page.locator(f"#alert-{yard.alert_of('amber-lark', 'bilge').id}")
    assert [b.inner_text() for b in alert.locator("button:visible").all()] == ["I have seen this"]


@pytest.mark.parametrize("page", ["call", "calls", "link", "load", "undelivered", "vessel", "yard"])
def test_no_new_page_is_wider_than_a_phone_and_all_that_is_touched_is_big_enough(
    yard: WatchedYard, open_window: Open, page: str
) -> None:
    where = address(yard, page)
    put_aside(yard)
    shown = open_window(where, width=PHONE).page
    for details in shown.locator("main details").all():
        details.evaluate("one => one.open = true")
    assert shown.evaluate("document.documentElement.scrollWidth") <= PHONE
    for control in shown.locator("main button:visible, main input:visible, main select:visible").all():
        assert height_of(control) >= 44


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("page", ["call", "calls", "link", "load", "undelivered", "vessel", "yard"])
def test_axe_finds_nothing_on_what_people_do(yard: WatchedYard, open_window: Open, page: str, scheme: str) -> None:
    where = address(yard, page)
    put_aside(yard)
    shown = open_window(where, width=PHONE, scheme=scheme).page
    for details in shown.locator("main details").all():
        details.evaluate("one => one.open = true")
    options = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
    found = Axe().run(shown, options=options)
    assert found.violations_count == 0, found.generate_report()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_what_is_refused_keeps_what_was_typed_and_can_be_put_right_on_a_phone(
    named_yard: WatchedYard, open_window: Open, scheme: str
) -> None:
    page = open_window("/vessels/amber-lark", width=PHONE, scheme=scheme).page
    alert = page.locator(f"#alert-{named_yard.alert_of('amber-lark', 'bilge').id}")
    alert.get_by_text("Hand it over to somebody").click()
    form = alert.locator("form[action$=hand-over]")
    form.get_by_label("Your name").fill("anna")
    form.get_by_label("To whom").select_option(label="Anna Tolley, duty")
    form.get_by_label("Note").fill("you are nearer")
    form.get_by_role("button").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("It was not handed over")
    expect(page.get_by_label("Note")).to_have_value("you are nearer")
    expect(page.get_by_label("To whom")).to_have_value("Anna Tolley")
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE
    for control in page.locator("main button, main input, main select, main a.button").all():
        assert height_of(control) >= 44
    options = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
    found = Axe().run(page, options=options)
    assert found.violations_count == 0, found.generate_report()
    page.get_by_label("To whom").select_option(label="Maud Farrier, manager")
    page.get_by_role("button", name="Hand it over").click()
    expect(page.locator("#alerts")).to_contain_text("Offered to Maud Farrier")
    assert named_yard.alert_of("amber-lark", "bilge").offered_to == "Maud Farrier"


def height_of(control: Locator) -> float:
    """Give how tall a control is (px)."""
    box = control.bounding_box()
    assert box is not None
    return box["height"]
