"""A letter on a phone at night: what is wrong, who has it and the link stand on the first screen."""

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from boats import boat
from examples import CARD, HEAD, NOW, alert, finding, fleet, notice, waiting
from playwright.sync_api import Page, sync_playwright

from monitor.messages.letter import write_letter
from monitor.model.notice import NoticeKind
from monitor.model.outbox import Waiting
from monitor.model.scale import AlertState

pytestmark = pytest.mark.browser
PHONE = {"width": 360, "height": 560}  # less what the reader's own program keeps for itself of 640
FLAGS = "--headless --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking"
LONG = boat(name="Mistress of the Northern Lights", plot="behind the second paint shed", card=CARD)
NAMED: dict[str, Any] = finding().facts | {"name": "Fresh water pipes and calorifier"}
LATCHED: dict[str, Any] = {"returned_ms": NOW, "state": AlertState.LATCHED, "latching": True}


@pytest.fixture(scope="module")
def page(require_program: Callable[[str], str]) -> Iterator[Page]:
    path = require_program("chromium")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=FLAGS.split())
        yield browser.new_page(viewport=PHONE)  # type: ignore[arg-type]
        browser.close()


@pytest.mark.parametrize(
    "due",
    [
        waiting(notice(), (alert(), boat(card=CARD))),
        waiting(notice(NoticeKind.ESCALATED), (alert(finding=finding(facts=NAMED)), LONG)),
        waiting(notice(NoticeKind.OVER), (alert(**LATCHED), LONG)),
        waiting(notice(NoticeKind.HANDED), (alert(has_it="Per", offered_to="Anna"), LONG)),
        fleet(20),
    ],
    ids=["one boat", "long names", "waits for a look", "handed over", "twenty boats"],
)
def test_what_is_asked_of_the_reader_stands_on_the_first_screen(page: Page, due: Waiting) -> None:
    page.set_content(write_letter(due, HEAD, strict=True).html)
    assert page.evaluate("document.documentElement.scrollWidth") == PHONE["width"]
    link = page.get_by_role("link").first.bounding_box()
    assert link is not None
    assert link["y"] + link["height"] < PHONE["height"]
    assert link["height"] >= 44  # a cold thumb
    title = page.get_by_role("heading", level=1).bounding_box()
    assert title is not None
    assert title["y"] < link["y"]


def test_a_letter_is_read_aloud_as_it_stands(page: Page) -> None:
    page.set_content(write_letter(waiting(notice(), (alert(), boat(card=CARD))), HEAD, strict=True).html)
    found = Axe().run(page).response["violations"]
    assert [(v["id"], v["help"]) for v in found if v["impact"] in {"serious", "critical"}] == []
