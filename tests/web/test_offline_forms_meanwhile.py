"""What was kept on a telephone meets a record that somebody else has changed meanwhile."""

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from conftest import Served
from playwright.sync_api import Browser, BrowserContext, Page, expect
from proved import proved
from watched import WatchedYard
from yards import record

from monitor.model.equipment import Bilge, Sensor, Supply
from monitor.model.quantity import Quantity
from monitor.model.vessel import Vessel
from monitor.web import Deps

pytestmark = pytest.mark.browser
ENTRY = "/vessels/amber-lark/record/bilges/bilge-1"
WAIT_MS = 500


@pytest.fixture
def yard(tmp_path: Path) -> Iterator[WatchedYard]:
    """A yard with one boat, who has two bilges."""
    made = WatchedYard(tmp_path / "journal.db")
    made.watch(two_bilges())
    yield made
    made.close()


@pytest.fixture
def address(yard: WatchedYard, cache_dir: Path, serve: Callable[[Deps], Served]) -> str:
    """Where it is served."""
    return serve(yard.deps(cache_dir)).address


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    """A telephone's page."""
    phone: BrowserContext = browser.new_context(viewport={"width": 360, "height": 740})
    yield phone.new_page()
    phone.close()


def two_bilges(**changes: Any) -> Vessel:
    """Give a boat that was moved, so that both zeros are to be set."""
    made = record("amber-lark", "Amber Lark")
    probes = tuple(
        Sensor(id=f"level-{n}", quantity=Quantity.LEVEL, place=f"bilge {n}", interval_s=600, supply=Supply.OWN_CELL)
        for n in (1, 2)
    )
    bilges = tuple(
        Bilge(id=f"bilge-{n}", name=f"Bilge {n}", level_sensor=f"level-{n}", high_m=0.1, zero_wanted=True)
        for n in (1, 2)
    )
    fields = {"sensors": (*made.sensors, *probes), "bilges": bilges} | changes
    return Vessel.model_validate(made.model_copy(update=fields).model_dump())


def stands(yard: WatchedYard) -> Vessel:
    """Give her record as it stands."""
    found = yard.view.record("amber-lark")
    assert found is not None
    return found.vessel


def test_an_entry_that_somebody_else_changed_meanwhile_is_not_put_over_theirs_by_what_was_kept(
    yard: WatchedYard, address: str, page: Page
) -> None:
    page.goto(address + ENTRY)
    page.locator("[name='e.name']").fill("Fore bilge")
    page.wait_for_timeout(WAIT_MS)
    page.goto("about:blank")
    first, second = stands(yard).bilges
    yard.watch(two_bilges(bilges=(first.model_copy(update={"high_m": 0.05}), second)))
    page.goto(address + ENTRY)
    expect(page.locator(".kept-form")).to_contain_text("Not sent yet")
    page.get_by_label("Your name").fill("Odile Marrick")
    with page.expect_navigation():
        page.locator("form.record-form button.send").click()
    assert stands(yard).bilges[0].high_m == 0.05
    expect(page.locator("main")).to_contain_text(re.compile("changed (it|this)|somebody else", re.IGNORECASE))


def test_a_dip_that_was_kept_for_one_bilge_is_never_put_into_the_form_of_another(
    yard: WatchedYard, address: str, page: Page
) -> None:
    zero = "/vessels/amber-lark/move/zero"
    page.goto(address + zero)
    page.locator("[name=hand]").nth(0).fill("35")
    page.wait_for_timeout(WAIT_MS)
    page.goto("about:blank")
    first, second = stands(yard).bilges
    yard.watch(two_bilges(bilges=(first.model_copy(update={"zero_wanted": False}), second)))
    page.goto(address + zero)
    expect(page.locator("[name=hand]")).to_have_count(1)
    expect(page.locator("[name=hand]")).to_have_value("")


def test_thrown_away_nothing_of_what_was_kept_is_left(yard: WatchedYard, address: str, page: Page) -> None:
    page.goto(address + ENTRY)
    page.locator("[name='e.name']").fill("Fore bilge")
    page.wait_for_timeout(WAIT_MS)
    page.goto("about:blank")
    first, second = stands(yard).bilges
    yard.watch(two_bilges(bilges=(first.model_copy(update={"high_m": 0.05}), second)))
    page.goto(address + ENTRY)
    page.get_by_role("button", name="Throw it away").click()
    page.locator("[name='e.name']").fill("Aft bilge")
    page.get_by_label("Your name").fill("Odile Marrick")
    with page.expect_navigation():
        page.locator("form.record-form button.send").click()
    assert (stands(yard).bilges[0].name, stands(yard).bilges[0].high_m) == ("Aft bilge", 0.05)


def test_that_somebody_stands_beside_her_is_not_put_back_once_she_lies_elsewhere(
    yard: WatchedYard, address: str, page: Page
) -> None:
    walk = "/vessels/amber-lark/commission"
    zeros = tuple(bilge.model_copy(update={"zero_wanted": False}) for bilge in two_bilges().bilges)
    made = proved(two_bilges(bilges=zeros)).model_copy(update={"commissioned": None})
    yard.watch(made)
    page.goto(address + walk)
    here = page.locator("form[action$='take-on'] [name=here]")
    here.check()
    page.wait_for_timeout(WAIT_MS)
    page.goto("about:blank")
    yard.watch(made.model_copy(update={"plot": "Z9"}))
    page.goto(address + walk)
    expect(here).not_to_be_checked()
