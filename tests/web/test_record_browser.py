"""A boat added and her whole record filled on a phone, with no document touched; axe on every page of it."""

from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from conftest import Window
from playwright.sync_api import Page, expect
from watched import WatchedYard
from yards import record as sample

from monitor.model.broker import BrokerAddress
from monitor.model.equipment import (
    Battery,
    Bilge,
    Chemistry,
    Dehumidifier,
    DehumidifierKind,
    Drain,
    Due,
    Heater,
    Inhibitor,
    Liquid,
    LiquidSystem,
    OpenItem,
    SafetyItem,
    Seacock,
    Sensitivity,
    Sensor,
    ShorePower,
    Space,
    Supply,
    SystemKind,
    SystemState,
    Visit,
)
from monitor.model.quantity import Quantity
from monitor.model.vessel import Card, Mode, Person, Vessel
from monitor.model.work import Engine, Rig
from monitor.web import Deps
from monitor.web.form_fields import fields_of
from monitor.web.form_parts import PARTS

pytestmark = pytest.mark.browser
Open = Callable[..., Window]
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
RECORD = "/vessels/fern-day/record"


@pytest.fixture
def yard(tmp_path: Path) -> Iterator[WatchedYard]:
    made = WatchedYard(tmp_path / "journal.db")
    made.watch(sample("amber-lark", "Amber Lark"))
    yield made
    made.close()


@pytest.fixture
def deps(yard: WatchedYard, cache_dir: Path) -> Deps:
    return yard.deps(cache_dir, yard_id="eiderhythe", broker=BrokerAddress(port=1999))


def _probe(sensor_id: str, quantity: Quantity, place: str, interval_s: float = 3600, **more: object) -> Sensor:
    return Sensor.model_validate(
        {"id": sensor_id, "quantity": quantity, "place": place, "interval_s": interval_s, "supply": Supply.OWN_CELL}
        | more
    )


WANTED = Vessel(
    id="fern-day",
    name="Fern Day",
    yard="eiderhythe",
    mode=Mode.ASHORE_BUNG_IN,
    plot="B9",
    laid_up=datetime(2013, 12, 1, 10, 30, tzinfo=UTC),
    engineer="Odile Marrick",
    engine=Engine.INBOARD_DIESEL,
    rig=Rig.SAIL,
    visit_every_days=21,
    owner=Person(name="Ilse Thornquist", email="ilse@example.org"),
    card=Card(keys="Yard office, hook 9", refusals="Do not run the engine"),
    outside_sensor="stern-rail-temp",
    sensors=(
        _probe("stern-rail-temp", Quantity.TEMPERATURE, "stern rail, shaded"),
        _probe("engine-space-temp", Quantity.TEMPERATURE, "engine space, by the strainer", 600.0, error=0.3),
        _probe("saloon-humidity", Quantity.HUMIDITY, "saloon, under the table"),
        _probe("main-bilge-level", Quantity.LEVEL, "main bilge, lowest point"),
        _probe("main-bilge-float", Quantity.FLOAT_SWITCH, "main bilge, lowest point", 60.0),
        _probe("house-battery-volts", Quantity.VOLTAGE, "house battery", supply=Supply.AHEAD_OF_ISOLATOR),
        _probe("inlet-mains", Quantity.MAINS, "inlet", 60.0, supply=Supply.YARD_MAINS),
    ),
    liquid_systems=(
        LiquidSystem(
            id="engine-cooling", name="Engine cooling", kind=SystemKind.CLOSED_COOLING, state=SystemState.TREATED,
            liquid=Liquid.ETHYLENE_GLYCOL, tested_freeze_degc=-28.5, tester="refractometer", tested=date(2013, 11, 30),
            changed=date(2012, 10, 1), inhibitor=Inhibitor.ORGANIC_ACID, sensor="engine-space-temp",
        ),
        LiquidSystem(
            id="fresh-water", name="Fresh water", kind=SystemKind.FRESH_WATER, state=SystemState.DRAINED,
            drains=(Drain(name="tank sump", probed=True), Drain(name="shower tap", probed=False)),
        ),
    ),
    batteries=(
        Battery(id="house-bank", name="House bank", chemistry=Chemistry.AGM, capacity_ah=110, charger=True,
                feeds_pump=True, budget_ma=7.5, voltage_sensor="house-battery-volts"),
    ),
    bilges=(
        Bilge(id="main-bilge", name="Main bilge", level_sensor="main-bilge-level", float_sensor="main-bilge-float",
              high_m=0.08, starter_m=0.28, pump_lph=900, dip_table=((0.02, 0.6), (0.1, 15.0))),
    ),
    spaces=(
        Space(id="saloon", name="Saloon", humidity_sensor="saloon-humidity", temperature_sensor="engine-space-temp",
              mould_class=Sensitivity.VERY_SENSITIVE),
    ),
    seacocks=(
        Seacock(id="engine-intake", name="Engine intake", open=False),
        Seacock(id="cockpit-drain", name="Cockpit drain", open=True, reason="Rain runs out through it"),
    ),
    dehumidifier=Dehumidifier(running=True, kind=DehumidifierKind.COMPRESSOR, space="saloon", hold_below_rh=60),
    heater=Heater(on=False, note="Frost stat at 5 °C"),
    shore_power=ShorePower(on=True, mains_sensor="inlet-mains"),
    open_items=(OpenItem(tag=1, what="Log is out", due=Due.BEFORE_LIFT, opens_hull=True),),
    visits=(Visit(on=date(2013, 12, 2), by="Wilf Sandring", note="Cover tight"),),
    safety_kit=(SafetyItem(id="liferaft", name="Liferaft", due=date(2014, 5, 1)),),
)  # fmt: skip


def _fill(page: Page, texts: dict[str, str]) -> None:
    """Fill fields by their names: a list is chosen from, a box ticked, the rest typed."""
    for name, text in texts.items():
        found = page.locator(f'[name="e.{name}"]')
        kind = found.first.evaluate("e => e.tagName === 'SELECT' ? 'select' : e.type")
        if kind == "radio":
            page.locator(f'[name="e.{name}"][value="{text}"]').check()
        elif kind == "select":
            found.select_option(text)
        elif kind == "checkbox":
            found.check()
        else:
            found.fill(text)


def _save(page: Page, texts: dict[str, str], button: str = "Save") -> None:
    _fill(page, texts)
    page.get_by_label("Your name").fill("Odile Marrick")
    before = page.url
    page.get_by_role("button", name=button, exact=True).click()
    expect(page).not_to_have_url(before)


def _add(page: Page, part: str, title: str, texts: dict[str, str]) -> None:
    page.goto(page.url.split("/vessels")[0] + RECORD)
    page.locator(f"#part-{part}").get_by_role("link", name=title).click()
    _save(page, texts)


def test_a_boat_is_added_and_filled_on_a_phone_and_is_what_was_typed(yard: WatchedYard, open_window: Open) -> None:
    window = open_window("/vessels/new", width=360)
    page = window.page
    expect(page.get_by_label("Plot", exact=True)).to_be_hidden()
    _fill(page, {"name": "Fern Day", "engine": "inboard diesel", "rig": "sail", "lies": "ashore"})
    expect(page.get_by_label("Berth", exact=True)).to_be_hidden()
    _save(
        page,
        {"plot": "B9", "laid_up": "2013-12-01T10:30", "owner_name": "Ilse Thornquist",
         "owner_email": "ilse@example.org"},
        "Add her",
    )  # fmt: skip
    expect(page.get_by_role("heading", level=1)).to_have_text("Record of Fern Day")
    for sensor in WANTED.sensors:
        _add(page, "sensors", "Add a sensor", {
            "quantity": sensor.quantity.value, "place": sensor.place, "interval_s": f"{sensor.interval_s / 60:g}",
            "supply": sensor.supply.value, "error": "" if sensor.error is None else "0,3",
        })  # fmt: skip
        expect(page.locator("#heard-line")).to_contain_text(f"-t layup/eiderhythe/fern-day/{sensor.id} ")
    _add(page, "liquid-systems", "Add a liquid system", {
        "name": "Engine cooling", "kind": "closed cooling", "state": "treated", "liquid": "ethylene glycol",
        "tested_freeze_degc": "-28,5", "tester": "refractometer", "tested": "2013-11-30", "changed": "2012-10-01",
        "inhibitor": "organic acid", "sensor": "engine-space-temp",
    })  # fmt: skip
    expect(page.locator("#seen")).to_contain_text(
        "Engine cooling: watched at \N{MINUS SIGN}28.5 °C less errors, by its own probe every 10 minutes."
    )
    _add(page, "liquid-systems", "Add a liquid system", {
        "name": "Fresh water", "kind": "fresh water", "state": "drained", "drains.0.name": "tank sump",
        "drains.0.probed": "yes", "drains.1.name": "shower tap",
    })  # fmt: skip
    expect(page.locator("#questions")).to_contain_text("Fresh water: not probed: shower tap.")
    _add(page, "batteries", "Add a battery", {
        "name": "House bank", "chemistry": "agm", "capacity_ah": "110", "charger": "yes", "feeds_pump": "yes",
        "budget_ma": "7,5", "voltage_sensor": "house-battery-volts",
    })  # fmt: skip
    _add(page, "bilges", "Add a bilge", {
        "name": "Main bilge", "level_sensor": "main-bilge-level", "float_sensor": "main-bilge-float", "high_m": "80",
        "starter_m": "280", "pump_lph": "900", "dip_table.0.metres": "20", "dip_table.0.litres": "0,6",
        "dip_table.1.metres": "100", "dip_table.1.litres": "15",
    })  # fmt: skip
    _add(page, "spaces", "Add a space", {
        "name": "Saloon", "humidity_sensor": "saloon-humidity", "temperature_sensor": "engine-space-temp",
        "mould_class": "very sensitive",
    })  # fmt: skip
    _add(page, "seacocks", "Add a seacock", {"name": "Engine intake", "open": "no"})
    _add(page, "seacocks", "Add a seacock", {
        "name": "Cockpit drain", "open": "yes", "reason": "Rain runs out through it",
    })  # fmt: skip
    _add(page, "shore-power", "Change Shore power", {"on": "yes", "mains_sensor": "inlet-mains"})
    _add(page, "dehumidifier", "Add her dehumidifier", {
        "running": "yes", "kind": "compressor", "space": "saloon", "hold_below_rh": "60",
    })  # fmt: skip
    _add(page, "heater", "Add her heater", {"on": "no", "note": "Frost stat at 5 °C"})
    _add(page, "open-items", "Add an open item", {"what": "Log is out", "due": "before lift", "opens_hull": "yes"})
    _add(page, "safety-kit", "Add a piece of safety kit", {"name": "Liferaft", "due": "2014-05-01"})
    _add(page, "visits", "Add a visit", {"on": "2013-12-02", "by": "Wilf Sandring", "note": "Cover tight"})
    _add(page, "card", "Change Her card", {"keys": "Yard office, hook 9", "refusals": "Do not run the engine"})
    _add(page, "boat", "Change Her and her place", {"visit_every_days": "21", "outside_sensor": "stern-rail-temp"})
    page.get_by_role("link", name="Lay her up").last.click()
    page.get_by_label("Ashore, with her drain bung in").check()
    page.get_by_role("button", name="Next").click()
    expect(page.get_by_role("main")).to_contain_text("Not watched until")
    expect(page.get_by_role("main")).to_contain_text("The duty phone rung, and the yard takes the watch on")
    page.get_by_label("Your name").fill("Odile Marrick")
    page.get_by_role("button", name="Lay her up: ashore bung in").click()
    expect(page.locator("#part-lay-up")).to_contain_text("She is laid up: ashore bung in")
    stored = yard.view.record("fern-day")
    assert stored is not None
    for name in Vessel.model_fields:
        assert getattr(stored.vessel, name) == getattr(WANTED, name), name
    assert {version.actor for version in yard.view.versions("fern-day")} == {"Odile Marrick"}
    assert window.complaints == []


def test_only_what_matters_for_what_is_chosen_is_shown(open_window: Open) -> None:
    page = open_window("/vessels/amber-lark/record/liquid-systems/new", width=360).page
    drain, point = page.get_by_label("Drain 1"), page.get_by_label("Tested freezing point")
    expect(drain).to_be_hidden()
    expect(point).to_be_hidden()
    page.get_by_label("Drained, each drain named").check()
    expect(drain).to_be_visible()
    expect(point).to_be_hidden()
    page.get_by_label("Treated: frost-proof liquid in it, tested").check()
    expect(drain).to_be_hidden()
    expect(point).to_be_visible()


def test_every_choice_that_a_field_waits_for_has_its_rule_in_the_style_sheet() -> None:
    style = Path("monitor/web/static/coldberth.css").read_text(encoding="utf-8")
    tokens = {token for part in PARTS.values() for one in fields_of(part) for token in one.when}
    assert tokens > {"treated", "drained", "ashore"}
    for token in tokens:
        assert f'[data-when~="{token}"]' in style, token


def test_a_mistake_takes_the_keyboard_to_the_list_and_the_list_to_the_field(open_window: Open) -> None:
    page = open_window("/vessels/amber-lark/record/bilges/main", width=360).page
    _fill(page, {"high_m": "400"})
    page.get_by_label("Your name").fill("Odile Marrick")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator(".wrongs")).to_be_focused()
    page.locator(".wrongs a").first.click()
    expect(page.get_by_label("Water is high at")).to_be_focused()
    assert page.get_by_label("Water is high at").input_value() == "400"


def test_the_enter_key_saves_and_gives_no_rows(yard: WatchedYard, open_window: Open) -> None:
    page = open_window("/vessels/amber-lark/record/bilges/main", width=360).page
    page.get_by_label("Your name").fill("Odile Marrick")
    page.get_by_label("Water is high at").fill("90")
    page.get_by_label("Water is high at").press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Record of Amber Lark")
    stored = yard.view.record("amber-lark")
    assert stored is not None
    assert stored.vessel.bilges[0].high_m == 0.09


@pytest.mark.parametrize("javascript", [True, False])
def test_the_form_works_without_javascript(yard: WatchedYard, open_window: Open, javascript: bool) -> None:
    page = open_window("/vessels/amber-lark/record/card", width=360, javascript=javascript).page
    _save(page, {"keys": "Hook 12"})
    stored = yard.view.record("amber-lark")
    assert stored is not None
    assert stored.vessel.card.keys == "Hook 12"


PATHS = [
    "/vessels/new",
    "/vessels/amber-lark/record",
    "/vessels/amber-lark/record/sensors/float",
    "/vessels/amber-lark/record/liquid-systems/closed-cooling",
    "/vessels/amber-lark/record/bilges/main",
    "/vessels/amber-lark/record/sensors/volts/remove",
    "/vessels/amber-lark/record/versions",
    "/vessels/amber-lark/record/new-winter",
    "/vessels/amber-lark/record/open-items/7",
]


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("path", PATHS)
def test_axe_finds_nothing_on_a_phone_that_scrolls_one_way(open_window: Open, path: str, scheme: str) -> None:
    window = open_window(path, width=360, scheme=scheme)
    assert window.page.evaluate("document.documentElement.scrollWidth") <= 360
    found = Axe().run(window.page, options={"runOnly": RULES}).response["violations"]
    assert [(v["id"], [n["target"] for n in v["nodes"]]) for v in found] == []
    assert window.complaints == []


def test_axe_finds_nothing_where_mistakes_are_shown_or_she_is_laid_up(open_window: Open) -> None:
    page = open_window("/vessels/new", width=360).page
    page.get_by_role("button", name="Add her").click()
    expect(page.locator(".wrongs")).to_be_visible()
    found = Axe().run(page, options={"runOnly": RULES}).response["violations"]
    assert [(v["id"], [n["target"] for n in v["nodes"]]) for v in found] == []


def test_an_id_is_shown_while_the_name_is_typed(open_window: Open) -> None:
    page = open_window("/vessels/new", width=360).page
    page.locator("#name").fill("Sjöfröken  Nr. 2")
    expect(page.get_by_label("Her id")).to_have_attribute("placeholder", "sjofroken-nr-2")
