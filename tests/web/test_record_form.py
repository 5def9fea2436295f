"""The record's form over HTTP: a boat added, her parts filled, changed, taken out, and nothing silently lost."""

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime
from pathlib import Path

import httpx
import pytest
from filled_form import FilledForm
from watched import WatchedYard
from yards import record as sample

from monitor.model.broker import BrokerAddress
from monitor.model.document import read_vessel
from monitor.model.equipment import Dehumidifier, Drain, OpenItem, Sensor, SystemState
from monitor.model.inputs import RecordVersion
from monitor.model.vessel import Mode, Vessel
from monitor.model.work import Job, JobEnd
from monitor.web import Deps
from monitor.web.form_fields import fields_of, words
from monitor.web.form_parts import BOAT, PARTS, entries

BOATS = sorted(Path("simulator/data/boats").glob("*.toml"))
ODILE = {"name": "Odile Marrick"}
NEW_BOAT = ODILE | {
    "e.name": "Fern Day", "e.engine": "inboard diesel", "e.rig": "sail", "e.lies": "ashore", "e.plot": "B9",
    "e.laid_up": "2013-12-01T10:30", "e.owner_name": "Ilse Thornquist", "e.owner_email": "ilse@example.org",
}  # fmt: skip


@pytest.fixture
def yard(tmp_path: Path) -> Iterator[WatchedYard]:
    made = WatchedYard(tmp_path / "journal.db")
    made.watch(sample("amber-lark", "Amber Lark"))
    yield made
    made.close()


@pytest.fixture
def deps(yard: WatchedYard, cache_dir: Path) -> Deps:
    return yard.deps(cache_dir, yard_id="eiderhythe", broker=BrokerAddress(port=1999))


def stands(yard: WatchedYard, vessel: str = "amber-lark") -> Vessel:
    stored = yard.view.record(vessel)
    assert stored is not None
    return stored.vessel


def posted(client: httpx.Client, path: str, **changes: str) -> httpx.Response:
    """Post a form back as it stands, with some fields changed; double underlines are dots."""
    form = FilledForm(client.get(path).text)
    fields = form.fields | ODILE | {f"e.{key.replace('__', '.')}": value for key, value in changes.items()}
    return client.post(form.action, data=fields)


def test_a_boat_is_added_and_begins_laying_up(client: httpx.Client, yard: WatchedYard) -> None:
    answer = client.post("/vessels/new", data=NEW_BOAT)
    assert str(answer.url).endswith("/vessels/fern-day/record")
    made = stands(yard, "fern-day")
    assert made.mode is Mode.LAYING_UP
    assert made.plot == "B9"
    assert made.yard == "eiderhythe"
    assert made.engineer == "Odile Marrick"
    assert made.laid_up == datetime(2013, 12, 1, 10, 30, tzinfo=UTC)
    assert made.owner is not None
    assert made.owner.email == "ilse@example.org"
    assert yard.view.versions("fern-day")[0].actor == "Odile Marrick"


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"e.name": ""}, "Name: Fill this in."),
        ({"e.plot": ""}, "Say on which plot."),
        ({"e.lies": "afloat"}, "Say at which berth."),
        ({"e.id": "amber-lark"}, "amber-lark is in this yard already"),
        ({"e.id": "agent"}, "agent is a word of our own"),
        ({"e.id": "new"}, "new is a word of our own"),
        ({"e.id": "Not An Id"}, "Small letters, digits and dashes only"),
        ({"e.engine": "steam"}, "steam cannot be chosen here"),
        ({"e.rig": ""}, "Rig: Choose one."),
        ({"e.owner_email": "nowhere"}, "This is no e-mail address."),
        ({"e.owner_email": "nowhere", "e.owner_name": ""}, "This is no e-mail address."),
        ({"e.owner_name": ""}, "Write the owner&#39;s name beside the address."),
        ({"e.laid_up": "yesterday"}, "yesterday is no day and time"),
        ({"e.laid_up": "2031-12-01T10:30"}, "more than a month ahead, in 2031"),
        ({"name": ""}, "Your name: Fill this in."),
    ],
)
def test_a_mistake_in_a_new_boat_is_told_and_what_was_typed_is_kept(
    client: httpx.Client, yard: WatchedYard, typed: dict[str, str], said: str
) -> None:
    answer = client.post("/vessels/new", data=NEW_BOAT | typed)
    assert answer.status_code == 422
    assert said in answer.text
    assert 'role="alert"' in answer.text
    assert "ilse@example.org" in answer.text or "e.owner_email" in typed
    assert yard.view.record("fern-day") is None


def test_another_boat_at_the_same_plot_is_told_on_top_of_the_record(client: httpx.Client, yard: WatchedYard) -> None:
    said = f"Amber Lark stands at {stands(yard).place} by her record."
    alone = client.post("/vessels/new", data=NEW_BOAT)
    assert said not in alone.text
    together = posted(client, "/vessels/fern-day/record/boat", plot=f" {stands(yard).plot} ".lower())
    assert said in together.text


def test_two_boats_of_one_name_get_two_ids_only_by_hand(client: httpx.Client, yard: WatchedYard) -> None:
    client.post("/vessels/new", data=NEW_BOAT)
    assert "fern-day is in this yard already" in client.post("/vessels/new", data=NEW_BOAT).text
    client.post("/vessels/new", data=NEW_BOAT | {"e.id": "fern-day-2"})
    assert stands(yard, "fern-day-2").name == "Fern Day"


@pytest.mark.parametrize("path", BOATS, ids=lambda path: path.stem)
def test_each_entry_posted_back_unchanged_leaves_the_record_equal(
    client: httpx.Client, yard: WatchedYard, path: Path
) -> None:
    before = read_vessel(path.read_text(encoding="utf-8"), path.name)
    yard.watch(before)
    walked = 0
    for part in PARTS.values():
        for key, _ in entries(before, part):
            address = f"/vessels/{before.id}/record/{part.slug}{f'/{key}' if part.many else ''}"
            answer = posted(client, address)
            assert answer.status_code == 200, (address, answer.text)
            assert stands(yard, before.id) == before, address
            walked += 1
    assert walked > 15
    assert len(yard.view.versions(before.id)) == 1


RICH = {
    "sensors": [
        *({"id": i, "quantity": q, "place": i, "interval_s": 100.0, "supply": "sealed pack"} for i, q in (
            ("t", "temperature"), ("h", "humidity"), ("v", "voltage"), ("l", "level"), ("f", "float_switch"),
            ("m", "mains"), ("a", "current"), ("p", "pressure"))),
        {"id": "c", "quantity": "cell", "place": "c", "interval_s": 7.5, "supply": "own cell", "cell_of": "t",
         "error": 0.02},
    ],
    "liquid_systems": [
        {"id": "w", "name": "Wet", "kind": "raw water", "state": "wet", "liquid": "sea water",
         "salinity_g_per_kg": 34.7, "drains": [{"name": "plug", "probed": False}], "sensor": "t"},
        {"id": "n", "name": "Odd", "kind": "heating", "state": "not proven", "tested_freeze_degc": -12.25,
         "tester": "laboratory", "tested": "2013-10-01", "inhibitor": "inorganic"},
    ],
    "bilges": [{"id": "b", "name": "B", "level_sensor": "l", "pump_sensor": "m", "temperature_sensor": "t",
                "high_m": 0.0333, "pump_lph": 1234.5, "zero_wanted": True, "dip_table": [[-0.01, 0.1], [0.3, 1e3]]}],
    "spaces": [{"id": "s", "name": "S", "humidity_sensor": "h", "temperature_sensor": "t", "surface_factor": 0.15,
                "mould_class": "resistant"}],
    "batteries": [{"id": "x", "name": "X", "chemistry": "lifepo4", "capacity_ah": 99.9, "nominal_v": 25.6,
                   "budget_ma": 0.0, "voltage_sensor": "v", "temperature_sensor": "t"}],
    "seacocks": [{"id": "k", "name": "K", "open": False, "reason": "was stiff"}],
    "dehumidifier": {"running": False, "space": "gone"},
    "heater": {"on": True, "note": 'line one\nline <two> & "three"'},
    "open_items": [{"tag": 9, "what": "x", "due": "in the slings", "closed": "2014-01-02"}],
    "visits": [{"on": "2013-11-02", "by": "A"}, {"on": "2013-11-02", "by": "A"}, {"on": "2013-11-02", "by": "B"}],
    "outside_sensor": "t",
    "laid_up": datetime(2013, 10, 27, 1, 30, 5, tzinfo=UTC),
    "proofs": (),
    "commissioned": None,
}  # fmt: skip


def test_an_odd_record_with_everything_in_it_posted_back_unchanged_stays_equal(
    client: httpx.Client, yard: WatchedYard
) -> None:
    before = Vessel.model_validate(sample("odd-one", "Odd One").model_dump() | RICH)
    yard.watch(before)
    for part in PARTS.values():
        for key, _ in entries(before, part):
            address = f"/vessels/odd-one/record/{part.slug}{f'/{key}' if part.many else ''}"
            answer = posted(client, address)
            assert answer.status_code == 200, (address, answer.text)
            assert stands(yard, "odd-one") == before, address


def test_every_field_of_every_part_has_its_words() -> None:
    for part in PARTS.values():
        told = words("parts", part.slug)["fields"]
        left = {"mode", "id", "yard"} | {p.where for p in PARTS.values()} | {"jobs", "proofs", "commissioned"}
        fields = set(part.model.model_fields) - (left if part is BOAT else set())
        assert set(told) == fields, part.slug
        assert all(one.label for one in fields_of(part))


def test_a_sensor_is_added_and_the_line_by_which_it_is_heard_stands_there(
    client: httpx.Client, yard: WatchedYard
) -> None:
    answer = posted(
        client, "/vessels/amber-lark/record/sensors/new",
        quantity="level", place="forepeak, lowest point", interval_s="10", supply="own cell",
    )  # fmt: skip
    made = stands(yard).sensor("forepeak-level")
    assert made is not None
    assert (made.interval_s, made.unit) == (600.0, "m")
    line = "mosquitto_pub -h localhost -p 1999 -q 1 -t layup/eiderhythe/amber-lark/forepeak-level -m 0.012"
    assert line in answer.text
    assert "Added." in answer.text
    posted(
        client, "/vessels/amber-lark/record/sensors/new",
        quantity="float_switch", place="Forepeak float", interval_s="10", supply="own cell",
    )  # fmt: skip
    assert stands(yard).sensor("forepeak-float") is not None


def test_where_no_broker_is_known_the_line_has_words_in_its_place(
    yard: WatchedYard, cache_dir: Path, ask: Callable[[Deps], httpx.Client]
) -> None:
    page = ask(yard.deps(cache_dir)).get("/vessels/amber-lark/record/sensors/float").text
    assert "-h HOST -p PORT" in page
    assert "HOST and PORT stand for" in page


def test_a_decimal_comma_a_true_minus_and_the_unit_are_read(client: httpx.Client, yard: WatchedYard) -> None:
    address = "/vessels/amber-lark/record/liquid-systems/closed-cooling"
    posted(client, address, tested_freeze_degc="\N{MINUS SIGN}26,5 °C", changed="2012-10-01")
    system = stands(yard).liquid_systems[0]
    assert system.tested_freeze_degc == -26.5
    assert system.changed == date(2012, 10, 1)


@pytest.mark.parametrize(
    ("address", "changes", "said"),
    [
        ("liquid-systems/closed-cooling", {"tested_freeze_degc": "cold"}, "cold is no number"),
        ("liquid-systems/closed-cooling", {"tested_freeze_degc": "-99"}, "-99 cannot be"),
        ("liquid-systems/closed-cooling", {"tested_freeze_degc": "25"}, "25 cannot be: it lies"),
        ("bilges/main", {"high_m": "0.1"}, "0.1 cannot be: it lies between 10 and 5000 mm"),
        ("sensors/float", {"interval_s": "1 h"}, "1 h: write the number alone, in min."),
        ("liquid-systems/closed-cooling", {"tested_freeze_degc": "", "tester": ""}, "A treated system needs this."),
        ("liquid-systems/closed-cooling", {"state": "drained"}, "Name each drain."),
        ("liquid-systems/closed-cooling", {"tested": "2013-02-30"}, "2013-02-30 is no day"),
        ("seacocks/cockpit", {"reason": ""}, "Say why it is open."),
        ("bilges/main", {"high_m": "300"}, "This must lie below the starter motor"),
        ("bilges/main", {"dip_table__0__metres": "10", "dip_table__0__litres": "1"}, "At least two rows, or none."),
        ("sensors/float", {"interval_s": "0"}, "At least 0.02 min."),
        ("sensors/float", {"interval_s": "100000"}, "At most 1440 min."),
        ("boat", {"plot": ""}, "She is ashore: say on which plot."),
        ("boat", {"berth": "A1"}, "A berth (afloat) or a plot (ashore), not both."),
        ("boat", {"visit_every_days": "1.5"}, "1.5 is no whole number."),
        ("sensors/new", {"quantity": "level", "place": "x", "interval_s": "1", "supply": "own cell", "id": "float"},
         "There is a float in her record already."),
        ("open-items/new", {"tag": "7", "what": "Log is out", "due": "before lift"}, "There is a 7 in her record"),
        ("bilges/new", {"name": "Aft", "id": "remove"}, "remove is a word of our own"),
        ("card", {"keys": "x" * 501}, "At most 500 characters."),
    ],
)  # fmt: skip
def test_a_mistake_stands_beside_its_field_and_in_the_list_on_top(
    client: httpx.Client, yard: WatchedYard, address: str, changes: dict[str, str], said: str
) -> None:
    before = stands(yard)
    answer = posted(client, f"/vessels/amber-lark/record/{address}", **changes)
    assert answer.status_code == 422
    assert answer.text.count(said) >= 2, answer.text
    assert 'aria-invalid="true"' in answer.text or 'class="wrong"' in answer.text
    assert stands(yard) == before


def test_all_mistakes_are_told_at_once(client: httpx.Client) -> None:
    answer = posted(client, "/vessels/amber-lark/record/batteries/new", capacity_ah="many", nominal_v="0,5,5")
    for said in ("Name: Fill this in.", "Kind: Choose one.", "many is no number", "0,5,5 is no number"):
        assert said in answer.text
    assert 'value="many"' in answer.text


def test_what_belonged_to_another_state_falls_away_with_it(client: httpx.Client, yard: WatchedYard) -> None:
    posted(
        client, "/vessels/amber-lark/record/liquid-systems/closed-cooling",
        state="drained", drains__0__name="block", drains__0__probed="yes", drains__4__name="exchanger",
    )  # fmt: skip
    system = stands(yard).liquid_systems[0]
    assert system.state is SystemState.DRAINED
    assert system.drains == (Drain(name="block", probed=True), Drain(name="exchanger", probed=False))
    assert (system.liquid, system.tested_freeze_degc, system.tester, system.tested) == (None,) * 4
    assert system.sensor == "engine-space"


def test_more_rows_are_given_and_nothing_is_saved(client: httpx.Client, yard: WatchedYard) -> None:
    address = "/vessels/amber-lark/record/bilges/main"
    form = FilledForm(client.get(address).text)
    fields = form.fields | {"e.dip_table.2.metres": "30", "more": "3"}
    answer = client.post(address, data=fields)
    assert answer.status_code == 200
    assert FilledForm(answer.text).fields["e.dip_table.2.metres"] == "30"
    assert len([f for f in FilledForm(answer.text).fields if f.startswith("e.dip_table")]) > len(
        [f for f in form.fields if f.startswith("e.dip_table")]
    )
    assert len(yard.view.versions("amber-lark")) == 1


def test_a_change_somebody_else_made_of_another_entry_is_kept(client: httpx.Client, yard: WatchedYard) -> None:
    address = "/vessels/amber-lark/record/batteries/house"
    form = FilledForm(client.get(address).text)
    posted(client, "/vessels/amber-lark/record/card", keys="Hook 9")
    client.post(address, data=form.fields | ODILE | {"e.capacity_ah": "120"})
    assert stands(yard).card.keys == "Hook 9"
    assert stands(yard).batteries[0].capacity_ah == 120


def test_a_change_somebody_else_made_of_the_same_entry_is_shown_beside_mine(
    client: httpx.Client, yard: WatchedYard
) -> None:
    address = "/vessels/amber-lark/record/card"
    form = FilledForm(client.get(address).text)
    client.post(address, data=form.fields | {"name": "Wilf Sandring", "e.keys": "Hook 9"})
    clash = client.post(address, data=form.fields | ODILE | {"e.keys": "Hook 4"})
    assert clash.status_code == 409
    assert "Wilf Sandring changed this" in clash.text
    assert "Yours: <b>Hook 4</b>" in clash.text
    assert clash.text.count("Yours:") == 1
    assert "Wilf Sandring: <b>Hook 9</b>" in clash.text
    assert stands(yard).card.keys == "Hook 9"
    mine = FilledForm(clash.text)
    assert mine.fields["e.keys"] == "Hook 4"
    client.post(address, data=mine.fields | ODILE)
    assert stands(yard).card.keys == "Hook 4"


def test_of_a_clash_only_what_is_not_alike_is_shown(client: httpx.Client, yard: WatchedYard) -> None:
    address = "/vessels/amber-lark/record/liquid-systems/closed-cooling"
    form = FilledForm(client.get(address).text)
    client.post(address, data=form.fields | {"name": "Wilf Sandring", "e.tested_freeze_degc": "-20"})
    clash = client.post(address, data=form.fields | ODILE | {"e.tested_freeze_degc": "-20", "e.name": "Engine"})
    assert clash.status_code == 409
    assert "Yours: <b>Engine</b>" in clash.text
    assert clash.text.count("Yours:") == 1
    assert stands(yard).liquid_systems[0].name == "Engine closed cooling"


def test_an_entry_somebody_took_out_meanwhile_is_put_back_only_knowingly(
    client: httpx.Client, yard: WatchedYard
) -> None:
    address = "/vessels/amber-lark/record/seacocks/cockpit"
    form = FilledForm(client.get(address).text)
    client.post(f"{address}/remove", data={**FilledForm(client.get(f"{address}/remove").text).fields, **ODILE})
    answer = client.post(address, data=form.fields | ODILE | {"e.reason": "still open"})
    assert answer.status_code == 409
    assert "Odile Marrick took this out of her record" in answer.text
    assert stands(yard).seacocks == ()
    again = FilledForm(answer.text)
    client.post(again.action, data=again.fields | ODILE)
    assert [(cock.id, cock.reason) for cock in stands(yard).seacocks] == [("cockpit", "still open")]


def test_a_sensor_taken_out_takes_its_links_and_proofs_with_it_and_says_so(
    client: httpx.Client, yard: WatchedYard
) -> None:
    assert any(proof.sensor == "volts" for proof in stands(yard).proofs)
    address = "/vessels/amber-lark/record/sensors/volts/remove"
    page = client.get(address).text
    assert "House battery: sensor of its volts is left empty." in page
    assert "How it was proved by hand is taken off her record" in page
    client.post(address, data=FilledForm(page).fields | ODILE)
    assert stands(yard).sensor("volts") is None
    assert stands(yard).batteries[0].voltage_sensor is None
    assert not any(proof.sensor == "volts" for proof in stands(yard).proofs)


def test_a_sensor_that_a_space_cannot_be_without_stays(client: httpx.Client, yard: WatchedYard) -> None:
    page = client.get("/vessels/amber-lark/record/sensors/cabin-rh/remove").text
    assert "This has to be changed first" in page
    assert "Remove it</button>" not in page
    sent = client.post("/vessels/amber-lark/record/sensors/cabin-rh/remove", data=ODILE | {"version": "1"})
    assert sent.status_code == 409
    assert stands(yard).sensor("cabin-rh") is not None


def test_a_space_that_is_dried_stays(client: httpx.Client, yard: WatchedYard) -> None:
    yard.watch(sample("drydock", "Dry Dock", dehumidifier=Dehumidifier(running=True, space="saloon")))
    assert "The dehumidifier dries this space" in client.get("/vessels/drydock/record/spaces/saloon/remove").text


def test_a_sensor_replaced_is_to_be_proved_again_and_one_renamed_is_not(
    client: httpx.Client, yard: WatchedYard
) -> None:
    address = "/vessels/amber-lark/record/sensors/volts"
    posted(client, address, place="battery box")
    assert any(proof.sensor == "volts" for proof in stands(yard).proofs)
    client.post(address, data=FilledForm(client.get(address).text).fields | ODILE | {"replaced": "yes"})
    assert not any(proof.sensor == "volts" for proof in stands(yard).proofs)


def test_a_tag_gets_the_next_number_and_is_closed_by_somebody_on_a_day(client: httpx.Client, yard: WatchedYard) -> None:
    assert FilledForm(client.get("/vessels/amber-lark/record/open-items/new").text).fields["e.tag"] == "8"
    posted(client, "/vessels/amber-lark/record/open-items/new", what="Log is out", due="before lift", opens_hull="yes")
    assert stands(yard).open_items[-1] == OpenItem(tag=8, what="Log is out", due="before lift", opens_hull=True)
    half = posted(client, "/vessels/amber-lark/record/open-items/8", closed="2013-12-09")
    assert half.status_code == 422
    assert "Say who put it right." in half.text
    posted(client, "/vessels/amber-lark/record/open-items/8", closed="2013-12-09", closed_by="Wilf Sandring")
    assert stands(yard).open_items[-1].closed_by == "Wilf Sandring"


def test_an_open_item_taken_out_is_no_longer_named_by_its_job(client: httpx.Client, yard: WatchedYard) -> None:
    job = Job(id="impeller", system="Raw water", what="Take the impeller out", end=JobEnd.DONE, by="Odile Marrick",
              on=date(2013, 11, 1), tags=(7,))  # fmt: skip
    yard.watch(sample("jobbed", "Jobbed", jobs=(job,)))
    address = "/vessels/jobbed/record/open-items/7/remove"
    page = client.get(address).text
    assert "no longer names tag 7" in page
    client.post(address, data=FilledForm(page).fields | ODILE)
    assert stands(yard, "jobbed").jobs[0].tags == ()


def test_she_is_laid_up_after_a_page_that_lists_what_nobody_sees(client: httpx.Client, yard: WatchedYard) -> None:
    client.post("/vessels/new", data=NEW_BOAT)
    page = client.get("/vessels/fern-day/record/lay-up?mode=ashore bung in").text
    assert "No sensors are recorded: nothing aboard is watched." in page
    assert "No liquid systems are recorded" in page
    client.post("/vessels/fern-day/record/lay-up", data=FilledForm(page).fields | ODILE)
    assert stands(yard, "fern-day").mode is Mode.ASHORE_BUNG_IN
    assert "She is laid up already" in client.get("/vessels/fern-day/record/lay-up").text


def test_she_is_not_laid_up_afloat_without_a_berth(client: httpx.Client, yard: WatchedYard) -> None:
    client.post("/vessels/new", data=NEW_BOAT)
    answer = client.get("/vessels/fern-day/record/lay-up?mode=afloat laid up")
    assert answer.status_code == 409
    assert "She is afloat: say at which berth." in answer.text
    forced = client.post("/vessels/fern-day/record/lay-up", data=ODILE | {"mode": "afloat laid up", "version": "1"})
    assert forced.status_code == 409
    assert stands(yard, "fern-day").mode is Mode.LAYING_UP


def test_what_changed_while_the_page_stood_there_is_shown_before_she_is_laid_up(
    client: httpx.Client, yard: WatchedYard
) -> None:
    client.post("/vessels/new", data=NEW_BOAT)
    form = FilledForm(client.get("/vessels/fern-day/record/lay-up?mode=ashore bung in").text)
    posted(client, "/vessels/fern-day/record/card", keys="Hook 1")
    answer = client.post("/vessels/fern-day/record/lay-up", data=form.fields | ODILE)
    assert answer.status_code == 409
    assert "Odile Marrick changed her record meanwhile" in answer.text
    assert stands(yard, "fern-day").mode is Mode.LAYING_UP


def test_a_new_winter_keeps_what_is_fitted_and_takes_off_what_was_proved(
    client: httpx.Client, yard: WatchedYard
) -> None:
    before = stands(yard)
    closed = OpenItem(tag=3, what="Hose is off", due="before lift", closed=date(2013, 4, 1), closed_by="Wilf")
    yard.fleet.command(
        RecordVersion(before.model_copy(update={"open_items": (*before.open_items, closed)}), yard.now_ms, "Wilf")
    )
    yard.flush()
    page = client.get("/vessels/amber-lark/record/new-winter").text
    assert "1 liquid system back to not proven" in page
    assert "1 closed open item taken off." in page
    assert "Tag 7 stays open: Impeller is in the galley drawer." in page
    client.post("/vessels/amber-lark/record/new-winter", data=FilledForm(page).fields | ODILE)
    after = stands(yard)
    assert after.mode is Mode.LAYING_UP
    assert after.laid_up > before.laid_up
    assert after.liquid_systems[0].state is SystemState.NOT_PROVEN
    assert after.liquid_systems[0].sensor == "engine-space"
    assert (after.jobs, after.visits, after.proofs, after.commissioned) == ((), (), (), None)
    assert [item.tag for item in after.open_items] == [7]
    assert after.bilges[0].zero_wanted
    assert after.sensors == before.sensors


def test_a_new_winter_does_not_begin_before_the_last(client: httpx.Client, yard: WatchedYard) -> None:
    answer = posted(client, "/vessels/amber-lark/record/new-winter", laid_up="2013-10-01T09:00")
    assert answer.status_code == 422
    assert "choose a later day" in answer.text
    assert stands(yard).mode is Mode.ASHORE_BUNG_OUT


@pytest.mark.parametrize("path", ["/vessels/amber-lark/record/new-winter", "/vessels/amber-lark/record/boat"])
def test_a_lay_up_with_the_wrong_year_is_asked_about_since_nothing_would_be_heard_until_then(
    client: httpx.Client, yard: WatchedYard, path: str
) -> None:
    before = stands(yard)
    page = client.get(path).text
    field = "e.laid_up" if "e.laid_up" in FilledForm(page).fields else "laid_up"
    answer = client.post(path, data=FilledForm(page).fields | ODILE | {field: "2031-11-01T09:00"})
    assert answer.status_code == 422
    assert "more than a month ahead, in 2031" in answer.text
    assert stands(yard) == before


def test_versions_say_who_changed_what_newest_first_and_each_can_be_looked_at(client: httpx.Client) -> None:
    posted(client, "/vessels/amber-lark/record/liquid-systems/closed-cooling", tested_freeze_degc="-28")
    posted(client, "/vessels/amber-lark/record/open-items/new", what="Log is out", due="before lift")
    page = client.get("/vessels/amber-lark/record/versions").text
    point = "Tested freezing point from <b>\N{MINUS SIGN}8 °C</b> to <b>\N{MINUS SIGN}28 °C</b>"
    changed = f"Liquid systems, Engine closed cooling: {point}"
    added = "Open items, Tag 8: Log is out: added"
    assert page.index(added) < page.index(changed) < page.index("The first version.")
    assert "Odile Marrick" in page
    first = client.get("/vessels/amber-lark/record/versions/1").text
    assert "\N{MINUS SIGN}8\N{NO-BREAK SPACE}°C" in first
    assert "Log is out" not in first
    assert client.get("/vessels/amber-lark/record/versions/99").status_code == 404


def test_the_record_says_at_once_what_is_seen_and_what_is_not(client: httpx.Client) -> None:
    page = client.get("/vessels/amber-lark/record").text
    assert "Engine closed cooling: watched at \N{MINUS SIGN}8 °C less errors, by its own probe every hour." in page
    assert "the bung is out, so a level that does not rise proves nothing" in page
    posted(client, "/vessels/amber-lark/record/bilges/new", name="Forepeak")
    page = client.get("/vessels/amber-lark/record").text
    assert "Forepeak: no level and no float switch, so water there will not be seen." in page


def test_what_the_watch_refuses_is_told_and_what_was_typed_is_kept(client: httpx.Client, yard: WatchedYard) -> None:
    form = FilledForm(client.get("/vessels/amber-lark/record/card").text)
    yard.answer = "The journal cannot be written."
    answer = client.post("/vessels/amber-lark/record/card", data=form.fields | ODILE | {"e.keys": "Hook 12"})
    assert answer.status_code == 409
    assert "The journal cannot be written." in answer.text
    assert "Hook 12" in answer.text


@pytest.mark.parametrize("path", ["sensors/nothing", "nothing", "nothing/x", "card/x", "owner/x/remove"])
def test_what_is_not_in_the_record_is_not_found(client: httpx.Client, path: str) -> None:
    assert client.get(f"/vessels/amber-lark/record/{path}").status_code == 404
    assert client.get(f"/vessels/nobody/record/{path}").status_code == 404


def test_many_changes_at_once_are_all_kept(client: httpx.Client, yard: WatchedYard) -> None:
    def add(number: int) -> int:
        fields = {"e.name": f"Cock {number}", "e.open": "no", "version": "1"}
        return client.post("/vessels/amber-lark/record/seacocks/new", data=fields | ODILE).status_code

    with ThreadPoolExecutor(8) as pool:
        assert set(pool.map(add, range(16))) == {200}
    assert len(stands(yard).seacocks) == 17
    assert isinstance(stands(yard).sensors[0], Sensor)
