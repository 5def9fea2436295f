"""Sensors proved on a phone over the real app and a real journal, and the watch taken on; in a browser too."""

import json
import re
from collections.abc import Callable, Iterator
from concurrent.futures import Future
from dataclasses import replace
from pathlib import Path
from typing import Any

import httpx
import pytest
from axe_playwright_python.sync_playwright import Axe
from conftest import Window
from playwright.sync_api import expect
from proved import unproved
from yards import Yard, frost, one_of_each, reading, record

from monitor.model.access import Grade, Known, Means
from monitor.model.scale import Priority
from monitor.model.vessel import Mode
from monitor.web import Deps
from monitor.web import door as doors

Open = Callable[..., Window]
AXE = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
PAGE = "/vessels/amber-lark/commission"
HANNO = "Hanno Brightwell"
THERMOMETERS = ("outside-air", "engine-space", "cabin")


class RungYard(Yard):
    """The tests' yard, whose duty phone can be rung."""

    def __init__(self, path: Path) -> None:
        super().__init__(path)
        self.rung: list[tuple[str, str]] = []
        self.unreachable = ""

    def deps(self, cache_dir: Path, **changes: Any) -> Deps:
        return super().deps(cache_dir, **({"ring_duty": self.ring} | changes))

    def ring(self, vessel: str, reason: str) -> "Future[str | None]":
        answer: Future[str | None] = Future()
        self.rung.append((vessel, reason))
        answer.set_result(self.unreachable or None)
        return answer

    def says(self, sensor: str, value: float, ago_ms: int = 30_000) -> None:
        self.hear([reading("amber-lark", sensor, self.now_ms - ago_ms, value)])

    def passes(self, minutes: float) -> None:
        self.now_ms += round(minutes * 60_000)


@pytest.fixture
def yard(tmp_path: Path) -> Iterator[RungYard]:
    made = RungYard(tmp_path / "journal.db")
    made.lay_up(unproved(record("amber-lark", "Amber Lark", "B10")))
    made.hear(one_of_each("amber-lark", made.now_ms - 120_000))
    yield made
    made.close()


def prove(client: httpx.Client, sensor: str, way: str, **more: str) -> httpx.Response:
    return client.post(PAGE, data={"name": HANNO, "sensor": sensor, "way": way, **more})


def proofs(yard: Yard) -> set[tuple[str, str]]:
    stored = yard.view.record("amber-lark")
    assert stored is not None
    return {(p.sensor, p.way.value) for p in stored.vessel.proofs}


def prove_all(yard: RungYard, client: httpx.Client) -> None:
    """Go from sensor to sensor as somebody aboard does."""
    yard.says("float", 1.0)
    assert prove(client, "float", "lifted by hand").status_code == 200
    assert prove(client, "level", "dipped to a mark", hand="12 mm").status_code == 200
    for sensor in THERMOMETERS:
        yard.passes(1)
        yard.says(sensor, 0.3)
        assert prove(client, sensor, "in ice-water").status_code == 200
        yard.passes(1)
        yard.says(sensor, 21.0)
        assert prove(client, sensor, "in the hand").status_code == 200
    yard.says("cabin-rh", 96.0)
    assert prove(client, "cabin-rh", "under a damp cloth").status_code == 200
    assert prove(client, "volts", "against a multimeter", hand="12,68").status_code == 200


def take_on(client: httpx.Client, **changes: str) -> httpx.Response:
    said = {"name": HANNO, "place": "plot B10", "here": "true", "rung": "Wilf Sandring"}
    return client.post(f"{PAGE}/take-on", data=said | changes)


def test_the_page_asks_first_whether_it_is_the_right_boat(client: httpx.Client) -> None:
    page = client.get(PAGE).text
    assert page.index("<h1>Amber Lark</h1>") < page.index("Plot B10") < page.index("Is this the boat you stand on?")
    assert page.index("Is this the boat") < page.index("Sensor by sensor")
    assert "0 of 10 proofs done" in page


def test_the_whole_walk_makes_her_watched_and_is_kept(yard: RungYard, client: httpx.Client) -> None:
    assert "Not watched yet: nobody has proved her sensors" in client.get("/").text
    prove_all(yard, client)
    assert "Not watched yet: nobody has taken the watch on" in client.get("/").text
    assert client.post(f"{PAGE}/ring", data={"name": HANNO}).status_code == 200
    ((vessel, why),) = yard.rung
    assert (vessel, why.partition(",")[0]) == ("amber-lark", f"{HANNO} takes on the watch of Amber Lark at plot B10")
    page = take_on(client).text
    assert "The yard has the watch." in page
    stored = yard.view.record("amber-lark")
    assert stored is not None
    taken = stored.vessel.commissioned
    assert taken is not None
    assert (taken.by, taken.place, taken.rung) == (HANNO, "plot B10", "Wilf Sandring")
    assert stored.actor == HANNO
    assert "Nothing needs doing" in client.get("/?state=quiet").text


def test_a_thermometer_that_errs_in_ice_water_is_refused_in_words(yard: RungYard, client: httpx.Client) -> None:
    yard.says("cabin", 3.4)
    answer = prove(client, "cabin", "in ice-water")
    assert answer.status_code == 409
    assert "In ice-water it should say 0.0 °C within 1.0 and says 3.4 °C: wait for it to settle" in answer.text
    assert proofs(yard) == set()


def test_a_sensor_that_has_not_spoken_lately_proves_nothing(yard: RungYard, client: httpx.Client) -> None:
    yard.passes(3 * 60)
    answer = prove(client, "level", "dipped to a mark", hand="10")
    assert answer.status_code == 409
    assert "It has not spoken since 18:00: wait, or press its button." in answer.text


def test_what_was_typed_stays_where_it_is_refused(yard: RungYard, client: httpx.Client) -> None:
    answer = prove(client, "level", "dipped to a mark", hand="45 mm")
    assert answer.status_code == 409
    assert "By your dip it should say 45 mm within 8 and says 10 mm" in answer.text
    assert 'value="45 mm"' in answer.text
    answer = prove(client, "level", "dipped to a mark", hand="deep")
    assert answer.status_code == 422
    assert "write it as 30 mm, or 0.03 m" in answer.text
    assert proofs(yard) == set()


@pytest.mark.parametrize("hand", ["10", "10 mm", "0.01 m", "1 cm", "0,010 m"])
def test_a_dip_is_written_in_any_unit_that_is_named(yard: RungYard, client: httpx.Client, hand: str) -> None:
    assert prove(client, "level", "dipped to a mark", hand=hand).status_code == 200
    stored = yard.view.record("amber-lark")
    assert stored is not None
    (proof,) = stored.vessel.proofs
    assert proof.wanted == pytest.approx(0.01)


def test_a_dip_in_metres_without_its_unit_is_asked_again(yard: RungYard, client: httpx.Client) -> None:
    assert prove(client, "level", "dipped to a mark", hand="0.01").status_code == 422
    assert proofs(yard) == set()


def test_the_watch_is_not_taken_on_while_a_sensor_is_unproved(yard: RungYard, client: httpx.Client) -> None:
    prove_all(yard, client)
    stored = yard.view.record("amber-lark")
    assert stored is not None
    left = tuple(p for p in stored.vessel.proofs if p.way.value != "in the hand" or p.sensor != "cabin")
    yard.lay_up(stored.vessel.model_copy(update={"proofs": left}), at_ms=yard.now_ms)
    answer = take_on(client)
    assert answer.status_code == 409
    assert "Not proved yet: thermometer, saloon: in the hand" in answer.text
    assert "take the sensor out of her record" in answer.text


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"here": "false"}, "Say that you stand beside Amber Lark at plot B10"),
        ({"rung": " "}, "Write who answered the duty phone"),
        ({"place": "plot C1"}, "She is at plot B10 by now"),
    ],
)
def test_the_last_step_asks_for_place_and_phone(
    yard: RungYard, client: httpx.Client, changes: dict[str, str], said: str
) -> None:
    prove_all(yard, client)
    answer = take_on(client, **changes)
    assert answer.status_code == 422
    assert said in answer.text


def test_where_nobody_can_be_rung_it_says_so(yard: RungYard, client: httpx.Client) -> None:
    yard.unreachable = "No message can go out: ring the duty phone by hand."
    answer = client.post(f"{PAGE}/ring", data={"name": HANNO})
    assert answer.status_code == 409
    assert yard.unreachable in answer.text


@pytest.mark.parametrize(
    ("mode", "asked"), [(Mode.LAYING_UP, True), (Mode.ASHORE_BUNG_OUT, True), (Mode.IN_COMMISSION, False)]
)
def test_her_page_asks_for_proofs_while_they_are_wanted(
    yard: RungYard, client: httpx.Client, mode: Mode, asked: bool
) -> None:
    yard.lay_up(unproved(record("amber-lark", "Amber Lark", "B10"), mode=mode), at_ms=yard.now_ms)
    page = client.get("/vessels/amber-lark").text
    assert ("Prove her sensors" in page) is asked
    assert ("Not watched yet" in page) is asked
    assert "Move her" in page


def test_her_page_names_who_proved_what(yard: RungYard, client: httpx.Client) -> None:
    yard.lay_up(record("amber-lark", "Amber Lark", "B10"), at_ms=yard.now_ms)
    page = client.get("/vessels/amber-lark").text
    assert "Prove her sensors" not in page
    assert f"In ice-water: {HANNO}, " in page
    assert "it said 0.2 °C; it should have been 0.0 °C" in page
    assert "Wilf Sandring answered the duty phone" in page


def test_an_alert_of_hers_leads_though_nobody_proved_her(yard: RungYard, client: httpx.Client) -> None:
    yard.open_alert("amber-lark", frost(Priority.ALARM, -9.1))
    row = client.get("/").text
    assert "Act now" in row
    assert "Not watched yet" not in row


def test_the_yards_hand_proves_and_an_engineer_takes_on(
    yard: RungYard,
    deps: Deps,
    ask: Callable[[Deps], httpx.Client],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    hand = Known("Wilf Sandring", Grade.YARD, Means.SESSION, "wilf")
    monkeypatch.setattr(doors, "HERE", hand)
    client = ask(replace(deps))
    prove_all(yard, client)
    answer = take_on(client)
    assert answer.status_code == 409
    assert "Only an engineer or a manager takes the watch on for the yard." in answer.text


def test_a_phone_goes_through_a_step_while_the_value_lives(yard: RungYard, open_window: Open) -> None:
    window = open_window(PAGE, width=360)
    page = window.page
    step = page.locator("#sensor-float")
    expect(step.locator(".prove-says")).to_contain_text("It says down now, heard 18:00.")
    yard.says("float", 1.0)
    expect(step.locator(".prove-says")).to_contain_text("It says up now", timeout=8_000)
    step.get_by_label("Your name").fill(HANNO)
    step.get_by_role("button", name=re.compile("^Proved")).click()
    expect(page.locator("#sensor-float summary").first).to_contain_text("✓ proved")
    level = page.locator("#sensor-level")
    expect(level).to_have_attribute("open", "")
    level.get_by_label("You read").fill("90")
    level.get_by_role("button", name=re.compile("^Proved")).click()
    expect(level.locator(".wrong")).to_contain_text("By your dip it should say 90 mm")
    expect(level.get_by_label("You read")).to_have_value("90")
    assert page.evaluate("document.documentElement.scrollWidth") == 360
    found = Axe().run(page, options=AXE)
    assert found.violations_count == 0, json.dumps(found.response["violations"], indent=1)[:3000]
    assert [c for c in window.complaints if "409" not in c] == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_when_all_is_proved(
    yard: RungYard, client: httpx.Client, open_window: Open, scheme: str
) -> None:
    prove_all(yard, client)
    for address in (PAGE, f"{PAGE}?name=Hanno"):
        page = open_window(address, width=360, scheme=scheme).page
        assert page.evaluate("document.documentElement.scrollWidth") == 360
        found = Axe().run(page, options=AXE)
        assert found.violations_count == 0, json.dumps(found.response["violations"], indent=1)[:3000]
