"""The sources table: other people's topics and JSON."""

import json
from collections.abc import Mapping
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from monitor.intake.channel import Channel
from monitor.intake.refusal import Refusal
from monitor.intake.sources import Message, Source, read_with_source
from monitor.model.parcel import RawReading, RejectReason

UNITS = {"block": "Cel", "level": "m", "volts": "V", "float": "/"}
CHANNELS = {sensor: Channel("tern", sensor, unit == "/", unit) for sensor, unit in UNITS.items()}


def channels(vessel: str) -> Mapping[str, Channel]:
    if vessel != "tern":
        raise Refusal(RejectReason.UNKNOWN_VESSEL, vessel)
    return CHANNELS


def read(row: dict[str, object], payload: object, topic: str = "sensors/tern/block/tele") -> RawReading:
    source = Source.model_validate({"topic": "#", "vessel": "tern", "sensor": "block"} | row)
    sent = payload if isinstance(payload, bytes) else json.dumps(payload).encode()
    return read_with_source(source, Message(topic, sent), channels)


def reason(row: dict[str, object], payload: object) -> RejectReason:
    with pytest.raises(Refusal) as caught:
        read(row, payload)
    return caught.value.reason


def mistake(**row: object) -> str:
    with pytest.raises(ValidationError) as caught:
        Source.model_validate({"topic": "a/+/b", "vessel": "tern", "sensor": "block"} | row)
    return str(caught.value)


def test_a_pointer_says_where_the_value_stands() -> None:
    # RFC 6901 section 5: ~1 is a slash and ~0 a tilde in a name.
    assert read({"pointer": "/a~1b/0/m~0n"}, {"a/b": [{"m~n": 3.5}]}) == RawReading("tern", "block", 3.5)


def test_without_a_pointer_the_payload_is_the_number() -> None:
    assert read({}, b"3.5") == RawReading("tern", "block", 3.5)
    assert reason({}, b'{"v":3.5}') is RejectReason.NOT_A_NUMBER


def test_vessel_and_sensor_may_be_levels_of_the_topic() -> None:
    assert read({"vessel": "{2}", "sensor": "{3}"}, b"3.5", "sensors/tern/block/tele").sensor == "block"


def test_a_level_the_topic_does_not_have_is_refused() -> None:
    assert reason({"sensor": "{9}"}, b"3.5") is RejectReason.UNKNOWN_TOPIC


def test_unknown_vessels_and_sensors_are_refused() -> None:
    assert reason({"vessel": "{1}"}, b"3.5") is RejectReason.UNKNOWN_VESSEL
    assert reason({"sensor": "keel"}, b"3.5") is RejectReason.UNKNOWN_SENSOR


def test_scale_and_offset_bring_fahrenheit_to_celsius() -> None:
    # 41 degF is 5 degC by definition: (F - 32) * 5/9.
    row = {"pointer": "/f", "scale": 5 / 9, "offset": -32 * 5 / 9, "unit": "Cel"}
    assert read(row, {"f": 41}).value == pytest.approx(5.0, abs=1e-12)


def test_a_secondary_unit_is_converted() -> None:
    assert read({"sensor": "level", "pointer": "/mm", "unit": "mm"}, {"mm": 12.5}).value == 0.0125


def test_a_unit_of_another_quantity_is_a_wrong_unit() -> None:
    assert reason({"unit": "V"}, b"3.5") is RejectReason.WRONG_UNIT


@pytest.mark.parametrize("said", [True, 1, "on", "ON", "1", "true"])
def test_a_switch_is_on(said: object) -> None:
    assert read({"sensor": "float", "pointer": "/wet"}, {"wet": said}).value == 1.0


def test_a_switch_that_says_dry_is_turned_round_by_scale_and_offset() -> None:
    row = {"sensor": "float", "pointer": "/dry", "scale": -1, "offset": 1}
    assert read(row, {"dry": True}).value == 0.0
    assert read(row, {"dry": "OFF"}).value == 1.0


def test_a_number_in_quotes_is_a_number() -> None:
    assert read({"pointer": "/t"}, {"t": " 3.5 "}).value == 3.5


@pytest.mark.parametrize("found", [None, True, [], {}, "warm", ""])
def test_what_is_no_number_is_refused(found: object) -> None:
    assert reason({"pointer": "/t"}, {"t": found}) is RejectReason.NOT_A_NUMBER


@pytest.mark.parametrize("found", [b"NaN", b"1e999", b"9" * 4000])
def test_what_is_not_finite_is_refused(found: bytes) -> None:
    assert reason({"pointer": "/t"}, b'{"t":' + found + b"}") is RejectReason.NOT_A_NUMBER


@pytest.mark.parametrize("payload", [b"{", b"", b"[1]", b"5", b'{"u":1}', b"null"])
def test_a_message_without_the_value_is_malformed(payload: bytes) -> None:
    assert reason({"pointer": "/t"}, payload) is RejectReason.MALFORMED


@pytest.mark.parametrize(
    ("unit", "said"),
    [("s", 1_704_286_920), ("ms", 1_704_286_920_000), ("iso8601", "2024-01-03T14:02:00+01:00"), ("s", 1_704_286_920.0)],
)
def test_a_time_is_read_in_its_unit(unit: str, said: object) -> None:
    # 2024-01-03T13:02:00Z is Unix time 1704286920 (date -u -d 2024-01-03T13:02 +%s).
    row = {"pointer": "/v", "time_pointer": "/at", "time_unit": unit}
    assert read(row, {"v": 3, "at": said}).stated_ms == 1_704_286_920_000


@pytest.mark.parametrize(
    ("unit", "said"),
    [
        ("s", -1),
        ("s", 1_704_286_920_000),
        ("ms", 253_402_300_800_000),
        ("iso8601", "2024-01-03T14:02:00"),
        ("iso8601", "1969-12-31T23:59:59Z"),
        ("iso8601", "yesterday"),
        ("iso8601", 1_704_286_920),
        ("s", "1704286920"),
        ("s", True),
        ("s", None),
    ],
)
def test_a_time_nobody_can_mean_is_refused(unit: str, said: object) -> None:
    row = {"pointer": "/v", "time_pointer": "/at", "time_unit": unit}
    assert reason(row, {"v": 3, "at": said}) is RejectReason.WRONG_TIME


def test_a_message_without_the_time_is_refused() -> None:
    assert reason({"pointer": "/v", "time_pointer": "/at"}, {"v": 3}) is RejectReason.WRONG_TIME


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ({"topic": "$SYS/broker/load"}, "start with $"),
        ({"topic": "a/#/b"}, "last level"),
        ({"topic": "a/b#"}, "last level"),
        ({"topic": "a/b+/c"}, "between slashes"),
        ({"topic": ""}, "at least 1 character"),
        ({"topic": "a\0b"}, "NUL"),
        ({"pointer": "t"}, "not a JSON Pointer"),
        ({"pointer": "/a~2"}, "not a JSON Pointer"),
        ({"unit": "F"}, "not one of"),
        ({"scale": 0.0}, "scale of 0"),
        ({"scale": float("nan")}, "finite"),
        ({"scale": "2"}, "valid number"),
        ({"vessel": "Tern"}, "pattern"),
        ({"vessel": "{0}"}, "pattern"),
        ({"sensor": "{4}"}, "does not have"),
        ({"time_pointer": "/t"}, "needs a pointer"),
        ({"time_unit": "min"}, "'s', 'ms' or 'iso8601'"),
        ({"colour": "red"}, "not permitted"),
    ],
)
def test_a_mistake_in_a_row_is_said_in_words(row: dict[str, object], said: str) -> None:
    assert said in mistake(**row)


json_values = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=6),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(["v", "at", "0", ""]), inner, max_size=3)
    ),
    max_leaves=8,
)


@given(
    st.sampled_from(["", "/", "/v", "/v/0", "/v/-", "/v/at", "/0/v"]),
    st.sampled_from(["s", "ms", "iso8601"]),
    st.booleans(),
    st.sampled_from(sorted(UNITS)),
    json_values,
)
def test_no_json_whatever_raises_anything_but_a_refusal(
    pointer: str, time_unit: str, timed: bool, sensor: str, payload: object
) -> None:
    row: dict[str, object] = {"pointer": pointer, "sensor": sensor, "time_unit": time_unit, "scale": 1e300}
    if timed and pointer:
        row["time_pointer"] = "/at"
    with suppress(Refusal):
        read(row, payload)
