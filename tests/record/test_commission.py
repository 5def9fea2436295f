"""Which proofs a record's sensors want, when one is proved, what is missing, and what a move does to it."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from boats import LAID_UP, LAID_UP_MS, MINUTE, boat, sensor
from proved import proved, unproved

from monitor.model.proof import LIMITS as PROOF_LIMITS
from monitor.model.proof import Proof, ProofWay
from monitor.model.quantity import Quantity
from monitor.model.vessel import Mode, Vessel
from monitor.record.blind import blind_spots
from monitor.record.checks import all_checks
from monitor.record.commission import Want, wants_of, watch_state, ways_of, with_proof
from monitor.record.commission_check import Heard, NotProvedError, prove
from monitor.record.commission_limits import LIMITS
from monitor.record.commission_says import called, caution_of, do_of, missing_words, short_words, state_words
from monitor.record.moving import MODE_SAYS, Move, moved, warnings
from monitor.record.visit_due import visit_due
from monitor.rules.maintenance_limits import LIMITS as MAINTENANCE

NOW = LAID_UP_MS + 10 * MINUTE
EVERY = [sensor(quantity.value.replace("_", "-"), quantity.value) for quantity in Quantity]


def bare(*sensors: dict[str, Any], **changes: Any) -> Vessel:
    """A boat of these sensors alone, none of them proved."""
    parts: dict[str, Any] = {"liquid_systems": [], "batteries": [], "bilges": [], "outside_sensor": None}
    return unproved(boat(**(parts | {"sensors": list(sensors)} | changes)))


def want_of(record: Vessel, way: ProofWay) -> Want:
    return next(want for want in wants_of(record) if want.way is way)


def tried(
    quantity: str, way: ProofWay, said: float, *, hand: float | None = None, lowest: float | None = None
) -> Proof:
    record = bare(sensor("it", quantity))
    heard = Heard(said, NOW - MINUTE, lowest)
    return prove(record, want_of(record, way), heard, hand, "Anna Tolley", NOW, str)


def refused(quantity: str, way: ProofWay, said: float, **more: float | None) -> str:
    with pytest.raises(NotProvedError) as error:
        tried(quantity, way, said, **more)
    return str(error.value)


def test_every_quantity_has_its_ways_and_every_way_its_words() -> None:
    record = bare(*EVERY)
    assert {want.sensor.quantity for want in wants_of(record)} == set(Quantity)
    assert {want.way for want in wants_of(record)} == set(ProofWay)
    for want in wants_of(record):
        assert do_of(record, want).endswith(".")
        assert called(want.sensor)


def test_water_is_proved_first_and_the_shore_lead_last() -> None:
    order = [want.way for want in wants_of(bare(*EVERY))]
    assert (order[0], order[1], order[-1]) == (ProofWay.LIFTED, ProofWay.DIPPED, ProofWay.LEAD_PULLED)


def test_batteries_and_shore_leads_have_their_cautions() -> None:
    record = bare(*EVERY)
    assert "No spark" in caution_of(want_of(record, ProofWay.MULTIMETER))
    assert "At the post first" in caution_of(want_of(record, ProofWay.LEAD_PULLED))


def test_a_sensor_on_the_pumps_lead_is_held_against_the_pump_and_not_the_shore_lead() -> None:
    bilge = {"id": "bilge", "name": "Bilge", "pump_sensor": "pump", "level_sensor": "level"}
    record = bare(sensor("pump", "mains"), sensor("level", "level"), bilges=[bilge])
    pump = record.sensor("pump")
    assert pump is not None
    assert ways_of(record, pump) == (ProofWay.COMPARED,)
    want = want_of(record, ProofWay.COMPARED)
    assert prove(record, want, Heard(1.0, NOW, None), None, "Anna", NOW, str).wanted == 1.0
    with pytest.raises(NotProvedError, match="With the pump running"):
        prove(record, want, Heard(0.0, NOW, None), None, "Anna", NOW, str)


# The ice point is 0 degC (ITS-90); the rest of what is allowed are the rows of LIMITS beside the sensor's own error.
@pytest.mark.parametrize("said", [-1.0, 0.0, 1.0])
def test_a_thermometer_is_proved_in_ice_water_within_its_error_and_the_glass(said: float) -> None:
    assert tried("temperature", ProofWay.ICE_WATER, said).wanted == LIMITS["ice_point"] == 0.0


@pytest.mark.parametrize("said", [-1.1, 1.1, 3.4])
def test_a_thermometer_that_errs_is_refused_with_what_it_should_say(said: float) -> None:
    assert refused("temperature", ProofWay.ICE_WATER, said).startswith("In ice-water it should say 0.0 °C within 1.0")


def test_a_hand_has_to_warm_a_thermometer() -> None:
    assert tried("temperature", ProofWay.IN_THE_HAND, 8.0, lowest=4.0).wanted is None
    assert "has risen by 3.9 °C" in refused("temperature", ProofWay.IN_THE_HAND, 7.9, lowest=4.0)
    assert "spoken only once" in refused("temperature", ProofWay.IN_THE_HAND, 25.0)


def test_a_humidity_sensor_that_sticks_high_is_not_proved_by_a_cloth() -> None:
    assert tried("humidity", ProofWay.DAMP_CLOTH, 94.0, lowest=60.0).said == 94.0
    assert "90 % or more and says 80 %" in refused("humidity", ProofWay.DAMP_CLOTH, 80.0, lowest=60.0)
    assert "It said 93 % already" in refused("humidity", ProofWay.DAMP_CLOTH, 94.0, lowest=93.0)


def test_volts_and_levels_agree_with_a_hand_within_error_and_limit() -> None:
    # 0.03 V of the sensor and 0.4 % of 12.60 V are 0.0804 V; 3 mm of the sensor and 5 mm of the stick are 8 mm.
    assert tried("voltage", ProofWay.MULTIMETER, 12.68, hand=12.60).wanted == 12.60
    assert "should say 12.60 V within 0.08 and says 12.69 V" in refused(
        "voltage", ProofWay.MULTIMETER, 12.69, hand=12.6
    )
    assert tried("level", ProofWay.DIPPED, 0.008, hand=0.0).wanted == 0.0
    assert "zero the sensor at its device" in refused("level", ProofWay.DIPPED, 0.009, hand=0.0)
    assert refused("level", ProofWay.DIPPED, 0.0) == "Write down what you read by hand."


def test_switches_say_up_when_lifted_and_off_when_the_lead_is_pulled() -> None:
    assert tried("float_switch", ProofWay.LIFTED, 1.0).wanted == 1.0
    assert "Lifted, it should say up and says down" in refused("float_switch", ProofWay.LIFTED, 0.0)
    assert tried("mains", ProofWay.LEAD_PULLED, 0.0).wanted == 0.0
    assert "should say off and says on" in refused("mains", ProofWay.LEAD_PULLED, 1.0)


@pytest.mark.parametrize(("interval_s", "minutes"), [(60.0, 5.0), (600.0, 20.0)])
def test_a_word_that_is_too_old_proves_nothing(interval_s: float, minutes: float) -> None:
    record = bare(sensor("it", "float_switch", interval_s))
    want, limit = want_of(record, ProofWay.LIFTED), round(minutes * MINUTE)
    assert prove(record, want, Heard(1.0, NOW - limit), None, "Anna", NOW, str).said == 1.0
    with pytest.raises(NotProvedError, match=f"It has not spoken since {NOW - limit - 1}: wait"):
        prove(record, want, Heard(1.0, NOW - limit - 1), None, "Anna", NOW, str)
    with pytest.raises(NotProvedError, match="never spoken"):
        prove(record, want, None, None, "Anna", NOW, str)


def test_a_record_without_proofs_is_not_watched_until_all_of_it_is_done() -> None:
    state = watch_state(unproved(boat()))
    assert not state.is_whole
    assert len(state.missing) == 7
    words = state_words(state)
    assert words.startswith("Not watched until: float switch, bilge float: lifted by hand; ")
    assert words.endswith("the duty phone rung, and the yard takes the watch on")


def test_a_proved_boat_that_was_taken_on_is_watched() -> None:
    record = boat()
    assert watch_state(record).is_whole
    assert short_words(record, watch_state(record)) == ""
    assert missing_words(watch_state(record).missing) == []


def test_proofs_of_an_earlier_lay_up_do_not_count() -> None:
    record = boat()
    early = timedelta(days=PROOF_LIMITS["before_lay_up"])
    at = {"at": LAID_UP - early}
    assert watch_state(dated(record, **at)).is_whole
    lost = watch_state(dated(record, at=LAID_UP - early - timedelta(seconds=1)))
    assert lost.taken_on is None
    assert len(lost.missing) == 7


def dated(record: Vessel, *, at: datetime) -> Vessel:
    taken = record.commissioned
    assert taken is not None
    proofs = tuple(proof.model_copy(update={"at": at}) for proof in record.proofs)
    return record.model_copy(update={"proofs": proofs, "commissioned": taken.model_copy(update={"at": at})})


def test_what_her_line_says_follows_what_is_missing() -> None:
    record = boat()
    assert (
        short_words(unproved(record), watch_state(unproved(record))) == "Not watched yet: nobody has proved her sensors"
    )
    untaken = record.model_copy(update={"commissioned": None})
    assert short_words(untaken, watch_state(untaken)) == "Not watched yet: nobody has taken the watch on"
    half = untaken.model_copy(update={"proofs": record.proofs[:-1]})
    assert short_words(half, watch_state(half)) == "Not watched yet: 1 sensor to prove"
    since = record.model_copy(update={"proofs": record.proofs[:-1]})
    assert short_words(since, watch_state(since)) == "Not proved: voltage sensor, house volts"
    used = unproved(record, mode=Mode.IN_COMMISSION)
    assert short_words(used, watch_state(used)) == ""


def test_a_newer_proof_takes_the_place_of_the_older_one() -> None:
    record = boat()
    again = Proof(sensor="bilge-level", way=ProofWay.DIPPED, by="Anna", at=datetime(2014, 1, 1, tzinfo=UTC), said=0.0)
    kept = with_proof(record, again)
    assert len(kept.proofs) == len(record.proofs)
    assert want_of(kept, ProofWay.DIPPED).proof == again


def test_a_lift_takes_the_dips_away_and_a_new_dip_sets_the_zero() -> None:
    record = boat()
    lifted = moved(record, Move(Mode.ASHORE_BUNG_IN, plot="C1"))
    assert lifted.bilges[0].zero_wanted
    assert [want.way for want in watch_state(lifted).missing] == [ProofWay.DIPPED]
    assert "Bilge: its zero was not set since she was moved, so its level may be wrong." in blind_spots(lifted)
    assert "bilge_zero.bilge" in [check.code for check in all_checks(lifted)]
    assert short_words(lifted, watch_state(lifted)) == "Bilge: its zero is not set since she was moved"
    dip = Proof(sensor="bilge-level", way=ProofWay.DIPPED, by="Anna", at=LAID_UP, said=0.0, wanted=0.0)
    again = with_proof(lifted, dip)
    assert not again.bilges[0].zero_wanted
    assert watch_state(again).is_whole
    assert "bilge_zero.bilge" not in [check.code for check in all_checks(again)]


@pytest.mark.parametrize(
    ("before", "move", "lifted"),
    [
        ({}, Move(Mode.ASHORE_BUNG_OUT, plot="B4"), False),
        ({}, Move(Mode.WORK_ABOARD, plot="B4"), False),
        ({}, Move(Mode.ASHORE_BUNG_IN, plot="B4", sits_otherwise=True), True),
        ({}, Move(Mode.ASHORE_BUNG_IN, plot="B5"), True),
        ({}, Move(Mode.IN_SLINGS, plot="B4"), True),
        ({}, Move(Mode.AFLOAT_LAID_UP, berth="N1"), True),
        ({"mode": "afloat laid up", "plot": None, "berth": "N1"}, Move(Mode.AFLOAT_LAID_UP, berth="N2"), False),
        ({"mode": "afloat laid up", "plot": None, "berth": "N1"}, Move(Mode.ASHORE_BUNG_OUT, plot="B1"), True),
    ],
)
def test_a_zero_is_wanted_where_she_was_lifted(before: dict[str, Any], move: Move, lifted: bool) -> None:
    after = moved(boat(**before), move)
    assert after.bilges[0].zero_wanted is lifted
    assert (after.mode, after.plot, after.berth) == (move.mode, move.plot or None, move.berth or None)


def test_what_to_look_at_before_she_floats_or_stands_where_another_stands() -> None:
    out = boat(mode="ashore bung out")
    afloat = moved(out, Move(Mode.FIRST_24_H_AFLOAT, berth="N1"))
    (bung,) = warnings(out, afloat, [])
    assert bung.startswith("By her record her bung is out.")
    item = {"tag": 3, "what": "Log is out", "due": "before lift", "opens_hull": True}
    holed = boat(open_items=[item])
    (hull,) = warnings(holed, moved(holed, Move(Mode.IN_SLINGS, plot="B4")), [])
    assert hull == "By her record her hull is open: Log is out. Close it before she floats."
    other = boat(id="gannet", name="Gannet", plot="B9")
    assert list(warnings(boat(), moved(boat(), Move(Mode.ASHORE_BUNG_IN, plot="b9")), [other])) == [
        "Gannet stands at plot B9 by her record."
    ]
    assert list(warnings(boat(), boat(), [boat()])) == []


def test_every_mode_has_plain_words() -> None:
    assert set(MODE_SAYS) == set(Mode)


def test_a_visit_falls_due_by_the_records_own_interval() -> None:
    today = LAID_UP.date()
    for days in (None, 3, 60):
        due = visit_due(boat(visit_every_days=days), None, today, UTC)  # type: ignore[arg-type]
        assert due is not None
        wanted = MAINTENANCE["visit_ashore"] if days is None else days
        assert (due.on - due.last).days == wanted


def test_the_tests_own_proofs_are_ones_that_the_check_would_give() -> None:
    record = proved(boat())
    for want in wants_of(record):
        proof = want.proof
        assert proof is not None
        lowest = proof.said - 20.0
        again = prove(record, replace(want, proof=None), Heard(proof.said, NOW, lowest), proof.wanted, "Anna", NOW, str)
        assert (again.said, again.wanted) == (proof.said, proof.wanted)
