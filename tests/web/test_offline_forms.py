"""A telephone loses the network in the middle of a form: what was typed is kept, and sent later."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from conftest import Served
from playwright.sync_api import Browser, BrowserContext, Page, expect
from visiting import VisitedYard, walked_yard

from monitor.model.inputs import VisitReport
from monitor.web import Deps

pytestmark = pytest.mark.browser
VISIT = "/vessels/barley-moon/visit"
NOT_SENT = "Not sent: no connection. It is kept on this phone; send it when you are ashore."


@pytest.fixture
def walked(tmp_path: Path) -> Iterator[VisitedYard]:
    """A yard that takes visits."""
    made = walked_yard(tmp_path / "journal.db")
    yield made
    made.close()


@pytest.fixture
def address(walked: VisitedYard, cache_dir: Path, serve: Callable[[Deps], Served]) -> str:
    """Where it is served."""
    return serve(walked.deps(cache_dir)).address


@pytest.fixture
def phone(browser: Browser) -> Iterator[BrowserContext]:
    """A telephone."""
    made = browser.new_context(viewport={"width": 360, "height": 740})
    yield made
    made.close()


def typed(page: Page) -> None:
    """Fill some of the visit's form in."""
    page.locator("textarea").first.fill("Cover torn at the bow")
    page.get_by_label("Your name").fill("Odile Marrick")
    page.locator("input[name=checked]").first.check()
    page.locator("input[name=found]").last.check()


def sent(page: Page) -> None:
    """Press the form's own button."""
    page.locator("form.visit button.send").click()


def visits(yard: VisitedYard) -> list[VisitReport]:
    """Give the visits that were taken."""
    return [command for command in yard.commands if isinstance(command, VisitReport)]


def test_a_visit_that_cannot_be_sent_stays_on_the_page_and_goes_out_once_there_is_a_connection(
    walked: VisitedYard, address: str, phone: BrowserContext
) -> None:
    page = phone.new_page()
    page.goto(address + VISIT)
    typed(page)
    phone.set_offline(True)
    sent(page)
    expect(page.get_by_role("alert")).to_contain_text(NOT_SENT)
    assert page.locator("textarea").first.input_value() == "Cover torn at the bow"
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    page.get_by_role("button", name="Try again").click()
    expect(page.get_by_role("alert")).to_contain_text(NOT_SENT)
    assert visits(walked) == []
    phone.set_offline(False)
    page.get_by_role("button", name="Try again").click()
    page.wait_for_url(lambda url: not url.endswith(VISIT))
    assert [(v.actor, v.visit.note) for v in visits(walked)] == [("Odile Marrick", "Cover torn at the bow")]
    # It was taken: nothing of it is offered again.
    page.goto(address + VISIT)
    expect(page.locator("textarea").first).to_have_value("")
    expect(page.locator(".kept-form")).to_have_count(0)
    assert page.evaluate("Object.keys(localStorage).filter((key) => key.startsWith('kept-form')).length") == 0


def test_what_was_typed_outlives_the_page(walked: VisitedYard, address: str, phone: BrowserContext) -> None:
    page = phone.new_page()
    page.goto(address + VISIT)
    typed(page)
    phone.set_offline(True)
    sent(page)
    expect(page.get_by_role("alert")).to_be_visible()
    page.close()
    phone.set_offline(False)
    again = phone.new_page()
    again.goto(address + VISIT)
    expect(again.locator(".kept-form")).to_contain_text("Not sent yet: what you typed here")
    expect(again.locator("textarea").first).to_have_value("Cover torn at the bow")
    expect(again.locator("input[name=checked]").first).to_be_checked()
    sent(again)
    again.wait_for_url(lambda url: not url.endswith(VISIT))
    assert [v.visit.note for v in visits(walked)] == ["Cover torn at the bow"]


def test_what_is_kept_can_be_thrown_away(address: str, phone: BrowserContext) -> None:
    page = phone.new_page()
    page.goto(address + VISIT)
    page.locator("textarea").first.fill("nonsense")
    page.wait_for_timeout(500)
    page.reload()
    page.get_by_role("button", name="Throw it away").click()
    expect(page.locator("textarea").first).to_have_value("")
    page.reload()
    expect(page.locator(".kept-form")).to_have_count(0)


def test_what_the_watch_refuses_is_not_taken_for_sent(walked: VisitedYard, address: str, phone: BrowserContext) -> None:
    walked.answer = "The journal is full."
    page = phone.new_page()
    page.goto(address + VISIT)
    typed(page)
    with page.expect_navigation():
        sent(page)
    expect(page.get_by_text("The journal is full").first).to_be_visible()
    page.goto(address + VISIT)
    expect(page.locator("textarea").first).to_have_value("Cover torn at the bow")


def test_two_boats_forms_are_kept_apart(address: str, phone: BrowserContext) -> None:
    page = phone.new_page()
    page.goto(address + VISIT)
    page.locator("textarea").first.fill("of Barley Moon")
    page.wait_for_timeout(500)
    page.goto(address + "/vessels/amber-lark/visit")
    expect(page.locator("textarea").first).to_have_value("")
    page.goto(address + VISIT)
    expect(page.locator("textarea").first).to_have_value("of Barley Moon")


def test_an_act_on_an_alert_that_cannot_be_sent_leaves_the_page_as_it_is(address: str, phone: BrowserContext) -> None:
    page = phone.new_page()
    page.goto(address + "/since")
    phone.set_offline(True)
    page.get_by_role("button", name="I have looked at this").click()
    expect(page.get_by_role("alert")).to_contain_text("Not sent: no connection. Nothing was changed.")
    assert page.url.endswith("/since")


def test_a_password_is_never_kept(address: str, phone: BrowserContext) -> None:
    page = phone.new_page()
    page.goto(address + "/sign-in")
    page.locator("input[name=login]").fill("anna")
    page.locator("input[type=password]").fill("a secret word")
    page.wait_for_timeout(500)
    assert page.evaluate("Object.keys(localStorage).filter((key) => key.startsWith('kept-form')).length") == 0
