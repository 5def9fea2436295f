"""SenML packs: RFC 8428 and, for secondary units, RFC 8798."""

import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.intake.channel import Channel
from monitor.intake.refusal import Refusal
from monitor.intake.senml import MOST_REFUSALS, decode_pack, encode_pack
from monitor.model.parcel import RawReading, RejectReason

UNITS = {"block": "Cel", "cabin": "%RH", "volts": "V", "amps": "A", "level": "m", "air": "Pa", "float": "/"}
CHANNELS = {sensor: Channel("tern", sensor, unit == "/", unit) for sensor, unit in UNITS.items()}
NOON_MS = 1_700_000_000_000


def values(*records: object) -> list[tuple[str, float]]:
    return [(r.sensor, r.value) for r in decode_pack(json.dumps(records).encode(), CHANNELS).readings]


def refusals(*records: object) -> list[RejectReason]:
    return [r.reason for r in decode_pack(json.dumps(records).encode(), CHANNELS).refusals]


def times(*records: object) -> list[tuple[int | None, int]]:
    return [(r.stated_ms, r.offset_ms) for r in decode_pack(json.dumps(records).encode(), CHANNELS).readings]


def whole(payload: bytes) -> Refusal:
    with pytest.raises(Refusal) as caught:
        decode_pack(payload, CHANNELS)
    return caught.value


def test_base_fields_hold_until_a_later_record_changes_them() -> None:
    # RFC 8428 section 4.1, after its example 5.1.3 (multiple data points).
    pack = [
        {"bn": "urn:dev:ow:10e2073a01080063:", "bt": 1.7e9, "bu": "V", "n": "volts", "v": 12.5},
        {"n": "volts", "t": 5, "v": 12.4},
        {"bn": "tern/", "bu": "Cel", "n": "block", "v": 3},
        {"n": "block", "t": 1, "v": 2},
    ]
    readings = decode_pack(json.dumps(pack).encode(), CHANNELS).readings
    assert readings == [
        RawReading("tern", "volts", 12.5, NOON_MS),
        RawReading("tern", "block", 3.0, NOON_MS),
        RawReading("tern", "block", 2.0, NOON_MS + 1000),
        RawReading("tern", "volts", 12.4, NOON_MS + 5000),
    ]


def test_a_base_value_is_added_to_each_value() -> None:
    assert values({"bv": 10, "n": "block", "v": 2.5}, {"n": "block", "v": -1}) == [("block", 12.5), ("block", 9.0)]


def test_a_base_time_is_added_to_each_time() -> None:
    assert times({"bt": 1.7e9, "n": "block", "t": -60, "v": 1}) == [(NOON_MS - 60_000, 0)]


def test_a_record_of_only_base_fields_is_fine() -> None:
    assert values({"bn": "tern:", "bver": 10}, {"n": "block", "v": 1}) == [("block", 1.0)]
    assert refusals({"bn": "tern:", "bver": 10}, {"n": "block", "v": 1}) == []


def test_the_sensor_is_what_stands_after_the_last_slash_or_colon_of_the_name() -> None:
    assert values({"bn": "urn:dev:mac:0024befffe804ff1:tern/", "n": "block", "v": 1}) == [("block", 1.0)]
    assert values({"n": "tern/engine:block", "v": 1}) == [("block", 1.0)]
    assert values({"bn": "blo", "n": "ck", "v": 1}) == [("block", 1.0)]


def test_a_time_below_2_to_the_28_is_relative_to_arrival() -> None:
    # RFC 8428 section 4.5.3.
    assert times({"n": "block", "t": -90.5, "v": 1}) == [(None, -90_500)]
    assert times({"n": "block", "v": 1}) == [(None, 0)]
    assert times({"n": "block", "t": 2**28 - 1, "v": 1}) == [(None, (2**28 - 1) * 1000)]
    assert times({"n": "block", "t": 2**28, "v": 1}) == [(2**28 * 1000, 0)]


def test_times_are_rounded_to_the_millisecond() -> None:
    assert times({"n": "block", "t": 1_700_000_000.0006, "v": 1}) == [(NOON_MS + 1, 0)]


def test_readings_are_put_in_time_order_and_equal_times_keep_their_places() -> None:
    pack = [
        {"bt": 1.7e9, "n": "block", "t": 2, "v": 1},
        {"n": "volts", "v": 2},
        {"n": "level", "v": 3},
        {"bt": 0, "n": "amps", "v": 4},
        {"n": "amps", "t": -1, "v": 5},
    ]
    assert [v for _, v in values(*pack)] == [2.0, 3.0, 1.0, 5.0, 4.0]


def test_a_record_without_a_unit_takes_the_sensors() -> None:
    assert values({"n": "level", "v": 0.25}) == [("level", 0.25)]


@pytest.mark.parametrize(
    ("sensor", "unit", "sent", "taken"),
    [
        # RFC 8798 table 2: mm and cm (m), mV (V), mA (A), hPa (Pa)
        ("level", "mm", 12.5, 0.0125),
        ("level", "cm", 3, 0.03),
        ("level", "km", 0.001, 1.0),
        ("volts", "mV", 12_640, 12.64),
        ("amps", "mA", -20, -0.02),
        ("air", "hPa", 1013.25, 101_325.0),
    ],
)
def test_a_registered_secondary_unit_is_converted(sensor: str, unit: str, sent: float, taken: float) -> None:
    assert values({"n": sensor, "u": unit, "v": sent}) == [(sensor, taken)]


@pytest.mark.parametrize(
    ("sensor", "unit"), [("block", "K"), ("block", "F"), ("level", "V"), ("float", "V"), ("air", "")]
)
def test_another_unit_is_a_wrong_unit(sensor: str, unit: str) -> None:
    assert refusals({"n": sensor, "u": unit, "v": 1}) == [RejectReason.WRONG_UNIT]


@pytest.mark.parametrize("said", [{"vb": True}, {"v": 1}, {"v": 1, "u": "/"}, {"vs": "on"}, {"vb": True, "u": "/"}])
def test_a_switch_is_on(said: dict[str, object]) -> None:
    assert values({"n": "float", **said}) == [("float", 1.0)]


@pytest.mark.parametrize("said", [{"vb": False}, {"v": 0}, {"v": 0, "u": "/"}, {"vs": "off"}])
def test_a_switch_is_off(said: dict[str, object]) -> None:
    assert values({"n": "float", **said}) == [("float", 0.0)]


@pytest.mark.parametrize("said", [{"v": 0.5}, {"vs": "wet"}, {"vs": "ON"}, {"v": 2}, {"v": -1}])
def test_a_switch_says_nothing_else(said: dict[str, object]) -> None:
    assert refusals({"n": "float", **said}) == [RejectReason.NOT_A_NUMBER]


@pytest.mark.parametrize("said", [{"vb": True}, {"vs": "on"}, {"vs": "3.5"}, {"vd": "AAAA"}])
def test_a_level_is_a_number_and_not_a_switch_a_word_or_data(said: dict[str, object]) -> None:
    assert refusals({"n": "level", **said}) == [RejectReason.NOT_A_NUMBER]


@pytest.mark.parametrize("value", [b"NaN", b"Infinity", b"-Infinity", b"1e999", b"true", b'"3"', b"null", b"9" * 4000])
def test_what_is_no_finite_number_is_refused_alone(value: bytes) -> None:
    decoded = decode_pack(b'[{"n":"block","v":' + value + b'},{"n":"volts","v":12}]', CHANNELS)
    assert [r.reason for r in decoded.refusals] == [RejectReason.NOT_A_NUMBER]
    assert [(r.sensor, r.value) for r in decoded.readings] == [("volts", 12.0)]


def test_a_sum_of_base_value_and_value_that_overflows_is_refused() -> None:
    assert refusals({"bv": 1.7e308, "n": "block", "v": 1.7e308}) == [RejectReason.NOT_A_NUMBER]


def test_at_most_one_value_is_stated_and_a_sum_may_stand_beside_it() -> None:
    # RFC 8428 section 4.2: exactly one value field, unless there is a sum, which may stand alone or beside it.
    assert refusals({"n": "block", "v": 1, "vs": "on"}) == [RejectReason.MALFORMED]
    assert values({"n": "block", "v": 1, "s": 20}) == [("block", 1.0)]
    assert refusals({"n": "block", "s": 20}) == [RejectReason.MALFORMED]


def test_a_record_that_names_a_sensor_and_states_nothing_is_refused() -> None:
    assert refusals({"n": "block"}) == [RejectReason.MALFORMED]


def test_an_unknown_sensor_is_refused_alone() -> None:
    assert refusals({"n": "keel", "v": 1}, {"n": "block", "v": 1}) == [RejectReason.UNKNOWN_SENSOR]
    assert values({"n": "keel", "v": 1}, {"n": "block", "v": 1}) == [("block", 1.0)]


@pytest.mark.parametrize("time", [1.7e12, 253_402_300_800, -(2.0**28), 1e308, -1e308])
def test_a_time_nobody_can_mean_is_refused(time: float) -> None:
    assert refusals({"n": "block", "t": time, "v": 1}) == [RejectReason.WRONG_TIME]


@pytest.mark.parametrize("time", [1e15, -1e12])
def test_a_float_that_is_up_is_up_whatever_its_clock_says(time: float) -> None:
    # DESIGN.md: doubt never silences water. It is taken at arrival, and its time is counted as wrong all the same.
    record = {"n": "float", "t": time, "vb": True}
    assert times(record) == [(None, 0)]
    assert refusals(record) == [RejectReason.WRONG_TIME]


def test_a_far_future_time_is_kept_for_later_stages_to_judge() -> None:
    assert times({"n": "block", "t": 4e9, "v": 1}) == [(4_000_000_000_000, 0)]


def test_what_rests_on_a_base_field_that_was_not_understood_is_refused_until_it_is_set_again() -> None:
    pack = [{"bt": "noon", "n": "block", "v": 1}, {"n": "volts", "v": 12}, {"bt": 1.7e9, "n": "level", "v": 0.1}]
    assert values(*pack) == [("level", 0.1)]
    assert refusals(*pack) == [RejectReason.WRONG_TIME, RejectReason.MALFORMED]


def test_good_base_fields_of_a_bad_record_still_hold() -> None:
    assert times({"bt": 1.7e9, "n": "block", "v": "?"}, {"n": "volts", "v": 12}) == [(NOON_MS, 0)]


def test_something_that_is_no_record_is_refused_alone() -> None:
    assert values(5, [], None, {"n": "block", "v": 1}) == [("block", 1.0)]
    assert refusals(5, [], None, {"n": "block", "v": 1}) == [RejectReason.MALFORMED] * 3


def test_fields_nobody_knows_are_ignored() -> None:
    assert values({"n": "block", "v": 1, "vendor": {"rssi": -70}}) == [("block", 1.0)]


def test_a_field_that_must_be_understood_and_is_not_spoils_the_pack() -> None:
    # RFC 8428 section 4.4: "mandatory to understand to correctly process the Pack".
    refusal = whole(b'[{"n":"block","v":1},{"n":"volts","v":12,"sealed_":true}]')
    assert refusal.reason is RejectReason.MALFORMED
    assert "sealed_" in refusal.detail
    assert "sealed_" in whole(b'[{"n":"block","v":"?","sealed_":true}]').detail


def test_a_version_above_ten_spoils_the_pack() -> None:
    assert "version 11" in whole(b'[{"bver":11,"n":"block","v":1}]').detail
    assert "version 11" in whole(b'[{"bver":11,"n":"block","v":"?"}]').detail


@pytest.mark.parametrize(
    "payload",
    [b"", b"\xff\xfe", b"{}", b"[", b"[]", b"3.5", b'{"n":"block","v":1}', b"[" * 60_000, b"[nan]", b"null", b"[1,]"],
)
def test_what_is_no_array_of_records_is_refused_whole(payload: bytes) -> None:
    assert whole(payload).reason is RejectReason.MALFORMED


def test_a_pack_of_thousands_of_bad_records_does_not_make_thousands_of_rejects() -> None:
    decoded = decode_pack(b"[" + b"0," * 3_000 + b'{"n":"block","v":1}]', CHANNELS)
    assert len(decoded.refusals) == MOST_REFUSALS + 1
    assert decoded.refusals[-1].detail == "2980 more records of the same pack could not be used"
    assert len(decoded.readings) == 1


def numbers(unit: str) -> st.SearchStrategy[float]:
    return st.sampled_from([0.0, 1.0]) if unit == "/" else st.floats(-1e9, 1e9)


def one_reading() -> st.SearchStrategy[tuple[str, str, int, float]]:
    # From a second after SenML's first absolute time (2**28 s, in 1978) to the year 9999.
    time = st.integers((2**28 + 1) * 1000, 253_402_300_799_999)
    return st.sampled_from(sorted(UNITS)).flatmap(
        lambda s: st.tuples(st.just(s), st.just(UNITS[s]), time, numbers(UNITS[s]))
    )


@given(st.lists(one_reading(), min_size=1, max_size=12))
def test_what_is_encoded_decodes_to_the_same_readings_in_time_order(sent: list[tuple[str, str, int, float]]) -> None:
    decoded = decode_pack(encode_pack(sent), CHANNELS)
    assert decoded.refusals == []
    expected = [(sensor, ms, value) for sensor, _, ms, value in sorted(sent, key=lambda r: r[2])]
    assert [(r.sensor, r.stated_ms, r.value) for r in decoded.readings] == expected


@pytest.mark.parametrize(
    "reading",
    [
        ("block", "Cel", NOON_MS, math.nan),
        ("block", "Cel", NOON_MS, math.inf),
        ("float", "/", NOON_MS, 0.5),
        ("block", "Cel", 2**28 * 1000 - 1, 1.0),
        ("block", "Cel", 253_402_300_800_000, 1.0),
    ],
)
def test_what_could_not_be_read_back_is_not_encoded(reading: tuple[str, str, int, float]) -> None:
    with pytest.raises(ValueError, match=r".+"):
        encode_pack([reading])


def test_an_empty_pack_is_not_encoded() -> None:
    with pytest.raises(ValueError, match="at least one record"):
        encode_pack([])


json_values = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=6) | st.sampled_from(sorted(UNITS)),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=4), inner, max_size=3),
    max_leaves=6,
)
wild_records = st.lists(
    json_values
    | st.dictionaries(
        st.sampled_from(["bn", "bt", "bu", "bv", "bs", "bver", "n", "u", "v", "vb", "vs", "vd", "s", "t", "ut", "x_"]),
        json_values,
        max_size=6,
    ),
    max_size=6,
)


@given(wild_records)
def test_whatever_stands_in_a_pack_gives_finite_values_and_possible_times(records: list[object]) -> None:
    try:
        decoded = decode_pack(json.dumps(records).encode(), CHANNELS)
    except Refusal:
        return
    for reading in decoded.readings:
        assert math.isfinite(reading.value)
        assert reading.stated_ms is None or 2**28 * 1000 <= reading.stated_ms < 253_402_300_800_000
        assert abs(reading.offset_ms) <= 2**28 * 1000


def outcome(records: list[object]) -> list[RawReading] | str:
    try:
        return decode_pack(json.dumps(records).encode(), CHANNELS).readings
    except Refusal as refusal:
        return refusal.detail


@given(wild_records)
def test_a_bad_record_at_the_end_changes_nothing_for_the_others(records: list[object]) -> None:
    # A pack with a fault is read record by record, one without in a single step: both must be as strict.
    good = records or [{"n": "block", "v": 1}]
    whole = outcome(good)
    # With nothing in it the pack is refused as a whole, with a bad record that one is.
    assert outcome([*good, "bad"]) == ([] if whole == "no record of it states a value" else whole)
