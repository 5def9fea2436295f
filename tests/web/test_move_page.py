"""A vessel moved over the real app and a real journal: place and mode, the warnings, and her bilge zero after it."""

import html
import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path

import httpx
import pytest
from axe_playwright_python.sync_playwright import Axe
from conftest import Window
from playwright.sync_api import expect
from yards import Yard, one_of_each, reading, record

from monitor.model.vessel import Mode, Vessel
from monitor.record.blind import blind_spots

Open = Callable[..., Window]
AXE = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
BOAT = "/vessels/amber-lark"
PAGE = f"{BOAT}/move"
ZERO_LOST = "Main bilge: its zero was not set since she was moved, so its level may be wrong."


@pytest.fixture
def yard(tmp_path: Path) -> Iterator[Yard]:
    made = Yard(tmp_path / "journal.db")
    made.lay_up(record("amber-lark", "Amber Lark", "B10"), record("barley-moon", "Barley Moon", "B2"))
    made.lay_up(record("copper-wren", "Copper Wren", "C1"))
    made.lay_up(record("copper-wren", "Copper Wren", "C2"))
    for vessel in ("amber-lark", "barley-moon", "copper-wren"):
        made.hear(one_of_each(vessel, made.now_ms - 120_000))
    yield made
    made.close()


def move(client: httpx.Client, **said: str) -> httpx.Response:
    return client.post(PAGE, data={"name": "Anna Tolley", "mode": "ashore bung out", "plot": "B10", "berth": ""} | said)


def now(yard: Yard) -> Vessel:
    stored = yard.view.record("amber-lark")
    assert stored is not None
    return stored.vessel


def test_the_page_says_where_she_is_and_offers_empty_places(client: httpx.Client) -> None:
    page = client.get(PAGE).text
    assert "Now plot B10, ashore bung out" in page
    assert "Empty by the records: C1" in page
    for mode in Mode:
        assert f'value="{mode.value}"' in page


def test_a_yard_of_many_records_is_asked_for_places_without_parsing_earlier_records(
    yard: Yard, client: httpx.Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert client.get(PAGE).status_code == 200
    yard.lay_up(record("barley-moon", "Barley Moon", "B11"))
    monkeypatch.setattr(yard.view, "versions", lambda vessel: pytest.fail(f"every version of {vessel} was parsed"))
    assert "Empty by the records: B2, C1" in client.get(PAGE).text


def test_a_boat_that_is_moved_from_plot_to_plot_wants_her_zero(yard: Yard, client: httpx.Client) -> None:
    page = move(client, plot="C1")
    assert page.url.path == f"{PAGE}/zero"
    moved = now(yard)
    assert (moved.plot, moved.bilges[0].zero_wanted) == ("C1", True)
    assert not [proof for proof in moved.proofs if proof.sensor == "level"]
    assert ZERO_LOST in blind_spots(moved)
    boat = client.get(BOAT).text
    assert "Main bilge: its zero is not set since she was moved" in boat
    assert ZERO_LOST in boat
    assert "dip it and set its level sensor&#39;s zero anew" in client.get(f"{BOAT}/visit").text


def test_the_zero_is_set_by_a_dip_that_a_newer_word_of_the_sensor_agrees_with(yard: Yard, client: httpx.Client) -> None:
    move(client, plot="C1")
    said = {"name": "Anna Tolley", "sensor": "level", "hand": "0"}
    old = client.post(f"{PAGE}/zero", data=said)
    assert old.status_code == 409
    assert "It has not spoken since she was moved" in old.text
    yard.now_ms += 600_000
    yard.hear([reading("amber-lark", "level", yard.now_ms - 60_000, 0.03)])
    off = client.post(f"{PAGE}/zero", data=said)
    assert off.status_code == 409
    assert "By your dip it should say 0 mm within 8 and says 30 mm: zero the sensor at its device" in off.text
    assert 'value="0"' in off.text
    yard.hear([reading("amber-lark", "level", yard.now_ms - 30_000, 0.001)])
    done = client.post(f"{PAGE}/zero", data=said)
    assert done.status_code == 200
    assert "The zero of every bilge is set." in done.text
    bilge = now(yard).bilges[0]
    assert not bilge.zero_wanted
    assert [(p.way.value, p.wanted) for p in now(yard).proofs if p.sensor == "level"] == [("dipped to a mark", 0.0)]
    assert ZERO_LOST not in client.get(BOAT).text


def test_a_mode_alone_at_the_same_plot_leaves_what_was_dipped(yard: Yard, client: httpx.Client) -> None:
    before = now(yard)
    assert move(client, mode="ashore bung in").url.path == BOAT
    assert now(yard) == before.model_copy(update={"mode": Mode.ASHORE_BUNG_IN})
    assert move(client, mode="ashore bung in", sits_otherwise="true").url.path == f"{PAGE}/zero"
    assert now(yard).bilges[0].zero_wanted


def test_a_plot_where_another_boat_stands_is_asked_about_first(yard: Yard, client: httpx.Client) -> None:
    asked = move(client, plot="b2")
    assert asked.status_code == 409
    assert "Barley Moon stands at plot B2 by her record." in asked.text
    assert 'value="b2"' in asked.text
    assert now(yard).plot == "B10"
    assert move(client, plot="b2", sure="true").status_code == 200
    assert now(yard).plot == "b2"


def test_having_looked_at_one_plot_says_nothing_of_another(yard: Yard, client: httpx.Client) -> None:
    shown = re.search(r'name="looked_at" value="([^"]+)"', move(client, plot="b2").text)
    assert shown is not None
    looked = {"sure": "true", "looked_at": html.unescape(shown[1])}
    assert "Copper Wren stands at plot C2" in move(client, plot="C2", **looked).text
    assert now(yard).plot == "B10"
    assert move(client, plot="b2", **looked).status_code == 200
    assert now(yard).plot == "b2"


def test_who_puts_a_wrong_plot_right_need_not_say_that_it_was_right(yard: Yard, client: httpx.Client) -> None:
    asked = move(client, plot="b2").text
    assert 'name="sure" value="true">' in asked
    assert move(client, plot="B11").status_code == 200
    assert now(yard).plot == "B11"


def test_afloat_with_the_bung_out_is_warned_of_before_it_is_saved(yard: Yard, client: httpx.Client) -> None:
    asked = move(client, mode="afloat laid up", plot="", berth="N1")
    assert asked.status_code == 409
    assert "By her record her bung is out." in asked.text
    assert now(yard).mode is Mode.ASHORE_BUNG_OUT
    assert move(client, mode="afloat laid up", plot="", berth="N1", sure="true").status_code == 200
    assert (now(yard).berth, now(yard).plot) == ("N1", None)


def test_a_place_that_does_not_fit_the_mode_is_refused_and_kept_in_the_form(yard: Yard, client: httpx.Client) -> None:
    wrong = move(client, mode="ashore bung in", plot="", berth="N1")
    assert wrong.status_code == 422
    assert "vessel ashore needs a plot" in wrong.text
    assert 'value="N1"' in wrong.text
    assert now(yard).plot == "B10"


def test_the_api_moves_her_and_says_what_is_missing(yard: Yard, client: httpx.Client) -> None:
    before = client.get(f"/api{BOAT}/commission").json()
    assert (before["whole"], before["missing"], before["zeros_wanted"]) == (True, 0, [])
    said = {"name": "Anna Tolley", "mode": "ashore bung out", "plot": "B2"}
    asked = client.post(f"/api{PAGE}", json=said)
    assert asked.status_code == 409
    assert asked.json()["errors"][0]["key"] == "sure"
    moved = client.post(f"/api{PAGE}", json=said | {"sure": True}).json()
    assert (moved["place"], moved["whole"], moved["missing"], moved["zeros_wanted"]) == ("plot B2", False, 1, ["main"])
    assert "level sensor, bilge: dipped to a mark" in moved["text"]
    assert now(yard).plot == "B2"


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_phone_moves_her_and_sets_her_zero(yard: Yard, open_window: Open, scheme: str) -> None:
    window = open_window(PAGE, width=360, scheme=scheme)
    page = window.page
    page.get_by_label("Plot, ashore").fill("C1")
    page.get_by_label("Your name").fill("Anna Tolley")
    found = [Axe().run(page, options=AXE)]
    assert page.evaluate("document.documentElement.scrollWidth") == 360
    page.get_by_role("button", name="Save where she is").click()
    expect(page).to_have_title("Set the bilge zero: Amber Lark")
    yard.now_ms += 60_000
    yard.hear([reading("amber-lark", "level", yard.now_ms, 0.002)])
    expect(page.locator(".prove-says")).to_contain_text("It says 2 mm now", timeout=8_000)
    found.append(Axe().run(page, options=AXE))
    assert page.evaluate("document.documentElement.scrollWidth") == 360
    page.get_by_label("You dipped").fill("0")
    page.get_by_label("Your name").fill("Anna Tolley")
    page.get_by_role("button", name="Its zero is right").click()
    expect(page.locator("main")).to_contain_text("The zero of every bilge is set.")
    for one in found:
        assert one.violations_count == 0, json.dumps(one.response["violations"], indent=1)[:3000]
    assert window.complaints == []
