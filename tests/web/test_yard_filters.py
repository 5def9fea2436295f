"""The yard page narrowed: by row, by who has it, by how she stands, together and in the address."""

import re
from collections.abc import Callable
from dataclasses import replace

import httpx
import pytest
from conftest import Window
from playwright.sync_api import expect
from yards import Yard, record

from monitor.model.access import Grade, Known, Means
from monitor.model.alert import AlertChange
from monitor.model.scale import AlertState
from monitor.model.vessel import Mode
from monitor.web import Deps
from monitor.web.lines import area_of
from monitor.web.menu import menu

Ask = Callable[[Deps], httpx.Client]
ROW = re.compile(r'<li class="row [\w-]+" data-vessel="([\w-]+)"')


def boats(page: str) -> list[str]:
    """Give the boats of a page, in its order."""
    return ROW.findall(page)


@pytest.fixture
def spread(yard: Yard) -> Yard:
    """The small yard, with a boat in row A, one on pontoon A, one at a named pontoon, and one at a bare number."""
    afloat = {"mode": Mode.AFLOAT_LAID_UP, "plot": None}
    yard.lay_up(
        record("kite-song", "Kite Song", "a12"),
        record("lapwing", "Lapwing").model_copy(update=afloat | {"berth": "A3"}),
        record("merganser", "Merganser").model_copy(update=afloat | {"berth": "north 7"}),
        record("nuthatch", "Nuthatch", "7"),
    )
    return yard


@pytest.mark.parametrize(
    ("plot", "berth", "area"),
    [
        ("A1", None, "row-A"),
        ("a12", None, "row-A"),
        (None, "A1", "pontoon-A"),
        (None, "north 7", "pontoon-North"),
        ("7", None, ""),
        (None, None, ""),
        ("Ö2", None, "row-Ö"),
    ],
)
def test_a_row_is_the_leading_letters_of_where_she_lies(plot: str | None, berth: str | None, area: str) -> None:
    assert area_of(record("x", "X").model_copy(update={"plot": plot, "berth": berth})) == area


@pytest.mark.usefixtures("spread")
def test_a_row_ashore_and_a_pontoon_of_the_same_letter_are_two_places(client: httpx.Client) -> None:
    assert boats(client.get("/", params={"area": "row-A"}).text) == ["kite-song"]
    assert boats(client.get("/", params={"area": "pontoon-A"}).text) == ["lapwing"]
    page = client.get("/", params={"area": "pontoon-north"}).text
    assert boats(page) == ["merganser"]
    assert re.search(r'<option value="pontoon-North" selected>Pontoon North</option>', page)


def test_what_nobody_has_and_what_somebody_has_are_found(client: httpx.Client) -> None:
    assert boats(client.get("/", params={"who": "nobody"}).text) == [
        "amber-lark",
        "copper-wren",
        "dove-hollow",
        "ember-quay",
    ]
    page = client.get("/", params={"who": "Wilf Sandring"}).text
    assert boats(page) == ["barley-moon"]
    assert "Wilf Sandring has it" in page
    assert '<option value="Wilf Sandring" selected>' in page


def test_an_alert_that_is_news_again_is_in_nobodys_hands(yard: Yard, client: httpx.Client) -> None:
    seen = next(a for a in yard.alerts.values() if a.acknowledged_by == "Wilf Sandring")
    yard.happens(replace(seen, state=AlertState.UNACKNOWLEDGED), AlertChange.REOPENED, yard.now_ms)
    assert "barley-moon" in boats(client.get("/", params={"who": "nobody"}).text)
    assert boats(client.get("/", params={"who": "Wilf Sandring"}).text) == []


@pytest.mark.usefixtures("spread")
def test_filters_go_together_and_the_counts_stay_of_the_whole(client: httpx.Client) -> None:
    page = client.get("/", params={"area": "row-B", "who": "nobody", "state": "act-now"}).text
    assert boats(page) == ["amber-lark"]
    assert "Shown: Act now; Row B; nobody has it" in page
    assert re.search(r"<b>14</b>\s+boats", page)
    # A count keeps what else is chosen; one tap clears all of it.
    assert 'href="/?state=soon&amp;area=row-B&amp;who=nobody"' in page
    assert '<a class="button" href="/">Show all 14</a>' in page


def test_mine_are_those_of_whoever_signed_in(deps: Deps, ask: Ask, monkeypatch: pytest.MonkeyPatch) -> None:
    wilf = Known("Wilf Sandring", Grade.YARD, Means.SESSION, "wilf")
    monkeypatch.setattr("monitor.web.door.known_by", lambda *_: wilf)
    page = ask(deps).get("/", params={"who": "me"}).text
    assert boats(page) == ["barley-moon"]
    assert "I have it (Wilf Sandring)" in page


def test_mine_asked_for_by_nobody_in_particular_is_said_and_not_guessed(client: httpx.Client) -> None:
    page = client.get("/", params={"who": "me"}).text
    assert boats(page) == []
    assert "sign in, so that it is known" in page


def test_a_filter_that_fits_nothing_says_so_and_lets_go(client: httpx.Client) -> None:
    page = client.get("/", params={"area": "row-<b>", "who": "nobody"}).text
    assert "No boat fits: Row &lt;b&gt;; nobody has it" in page
    assert "<b>;" not in page


@pytest.mark.usefixtures("spread")
def test_the_live_rows_keep_to_the_filter(client: httpx.Client) -> None:
    page = client.get("/rows", params={"ids": "amber-lark,kite-song", "area": "row-A"}).text
    assert boats(page) == ["kite-song"]


def test_an_owner_has_no_yard_menu_and_a_yard_hand_finds_what_they_walk_with_first() -> None:
    hand = menu(Known("Wilf", Grade.YARD, Means.SESSION, "wilf"), signs_in=True)
    assert [entry.words for entry in hand.first] == ["Yard", "Round", "Told"]
    assert {"/people", "/settings"}.isdisjoint({entry.address for entry in hand.more})
    owner = menu(Known("Tamsin", Grade.OWNER, Means.LINK), signs_in=True)
    assert "/round" not in {entry.address for entry in owner.first + owner.more}
    manager = menu(Known("Maud", Grade.MANAGER, Means.SESSION, "maud"), signs_in=True)
    assert "/people" in {entry.address for entry in manager.more}


@pytest.mark.browser
@pytest.mark.usefixtures("spread")
@pytest.mark.parametrize("javascript", [True, False])
def test_a_phone_narrows_the_yard_with_two_taps_and_lets_go_with_one(
    open_window: Callable[..., Window], javascript: bool
) -> None:
    page = open_window("/", width=360, javascript=javascript).page
    page.get_by_text("By row or person").click()
    page.get_by_label("Where she lies").select_option("row-A")
    page.get_by_role("button", name="Show these").click()
    expect(page.locator("#vessels > li")).to_have_count(1)
    assert "area=row-A" in page.url
    page.get_by_role("link", name="Show all 14").click()
    expect(page.locator("#vessels > li")).to_have_count(14)


@pytest.mark.browser
def test_the_keyboard_opens_more_and_closes_it(open_window: Callable[..., Window]) -> None:
    page = open_window("/", width=360).page
    more = page.locator(".more-pages > summary")
    more.focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("link", name="Rejected messages")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    page.keyboard.press("Escape")
    expect(page.get_by_role("link", name="Rejected messages")).to_be_hidden()
    expect(more).to_be_focused()
