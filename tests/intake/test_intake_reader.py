"""The reader: any message in, one parcel out."""

import json
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.intake.reader import LARGEST, Reader
from monitor.intake.sources import Source
from monitor.model.equipment import Sensor, Supply
from monitor.model.parcel import ClockMessage, ForecastMessage, Marker, Parcel, RawReading, RejectReason
from monitor.model.quantity import Quantity
from monitor.model.vessel import Mode, Vessel

QUANTITIES = {"block": Quantity.TEMPERATURE, "level": Quantity.LEVEL, "float": Quantity.FLOAT_SWITCH}
SOURCES = (
    Source(topic="sensors/+/climate", vessel="{2}", sensor="block", pointer="/t"),
    Source(topic="sensors/+/climate", vessel="{2}", sensor="level", pointer="/mm", unit="mm"),
    Source(topic="layup/north/+/tele", vessel="{3}", sensor="block", pointer="/t"),
)


def tern(*sensors: str) -> Vessel:
    return Vessel(
        id="tern",
        name="Tern",
        yard="north",
        mode=Mode.ASHORE_BUNG_OUT,
        plot="A4",
        laid_up=datetime(2023, 10, 1, tzinfo=UTC),
        engineer="A. Hand",
        sensors=tuple(
            Sensor(id=s, quantity=QUANTITIES[s], place="engine", interval_s=600, supply=Supply.OWN_CELL)
            for s in sensors or QUANTITIES
        ),
    )


class Yard:
    """A directory of one vessel."""

    def __init__(self) -> None:
        self.tern = tern()

    def vessel(self, vessel_id: str) -> Vessel | None:
        return self.tern if vessel_id == "tern" else None


READER = Reader("north", Yard(), SOURCES)


def read(topic: str, payload: bytes, reader: Reader = READER) -> Parcel:
    return reader.read(topic, payload, mid=7, qos=1, session=3, retained=False)


def only_reason(topic: str, payload: bytes) -> RejectReason:
    parcel = read(topic, payload)
    assert parcel.readings == []
    assert len(parcel.rejects) == 1
    return parcel.rejects[0].reason


def test_a_pack_becomes_readings_and_keeps_what_the_broker_needs() -> None:
    pack = b'[{"bt":1700000000,"n":"block","u":"Cel","v":3.5},{"n":"float","vb":false}]'
    assert read("layup/north/tern/readings", pack) == Parcel(
        mid=7,
        qos=1,
        session=3,
        retained=False,
        topic="layup/north/tern/readings",
        readings=[
            RawReading("tern", "block", 3.5, 1_700_000_000_000),
            RawReading("tern", "float", 0.0, 1_700_000_000_000),
        ],
    )


def test_a_bare_number_becomes_a_reading_without_a_stated_time() -> None:
    assert read("layup/north/tern/block", b"3.5").readings == [RawReading("tern", "block", 3.5)]


def test_a_retained_bare_number_is_still_known_as_retained() -> None:
    parcel = READER.read("layup/north/tern/block", b"3.5", mid=0, qos=0, session=1, retained=True)
    assert parcel.retained
    assert parcel.readings == [RawReading("tern", "block", 3.5)]


def test_a_clock_and_a_marker_are_told_from_readings() -> None:
    assert read("layup/north/agent/clock", b"1700000000123").clock == ClockMessage(1_700_000_000_123)
    assert read("layup/north/agent/marker", b"5f3a-1").marker == Marker("5f3a-1")


def test_a_forecast_is_read_with_its_times() -> None:
    pack = b'[{"bt":1700000000,"n":"temperature","u":"Cel","v":-1},{"n":"temperature","t":3600,"v":-3.5}]'
    parcel = read("layup/north/forecast", pack)
    assert parcel.forecast == ForecastMessage(((1_700_000_000_000, -1.0), (1_700_003_600_000, -3.5)))
    assert (parcel.readings, parcel.rejects) == ([], [])


def test_a_forecast_without_times_or_beyond_all_bounds_is_rejected() -> None:
    assert only_reason("layup/north/forecast", b'[{"n":"temperature","v":-1}]') is RejectReason.WRONG_TIME
    hot = b'[{"t":1700000000,"n":"temperature","v":900}]'
    assert only_reason("layup/north/forecast", hot) is RejectReason.NOT_A_NUMBER
    many = json.dumps([{"t": 1_700_000_000 + n, "n": "temperature", "v": 1} for n in range(401)]).encode()
    assert only_reason("layup/north/forecast", many) is RejectReason.OVERSIZED


@pytest.mark.parametrize("topic", ["layup/north/agent"])
def test_our_own_state_is_taken_and_ignored(topic: str) -> None:
    assert read(topic, b"{}") == Parcel(7, 1, 3, retained=False, topic=topic)


def test_each_reason_is_named() -> None:
    assert only_reason("layup/north/tern/readings", b"[") is RejectReason.MALFORMED
    assert only_reason("layup/north/tern/readings", b"[" + b" " * LARGEST + b"]") is RejectReason.OVERSIZED
    assert only_reason("weather/today", b"1") is RejectReason.UNKNOWN_TOPIC
    assert only_reason("layup/north/gull/readings", b"[]") is RejectReason.UNKNOWN_VESSEL
    assert only_reason("layup/north/gull/block", b"1") is RejectReason.UNKNOWN_VESSEL
    assert only_reason("layup/north/tern/keel", b"1") is RejectReason.UNKNOWN_SENSOR
    assert only_reason("layup/north/tern/readings", b'[{"n":"block","u":"V","v":1}]') is RejectReason.WRONG_UNIT
    assert only_reason("layup/north/tern/block", b"nan") is RejectReason.NOT_A_NUMBER
    assert only_reason("layup/north/agent/clock", b"noon") is RejectReason.WRONG_TIME


def test_64_kib_are_taken() -> None:
    pack = b'[{"n":"block","v":1}'.ljust(LARGEST - 1) + b"]"
    assert len(pack) == LARGEST
    assert len(read("layup/north/tern/readings", pack).readings) == 1


def test_what_is_good_in_a_pack_is_kept() -> None:
    pack = json.dumps([{"n": "block", "v": 1}, {"n": "keel", "v": 1}, {"n": "level", "u": "V", "v": 1}]).encode()
    parcel = read("layup/north/tern/readings", pack)
    assert [r.sensor for r in parcel.readings] == ["block"]
    assert [r.reason for r in parcel.rejects] == [RejectReason.UNKNOWN_SENSOR, RejectReason.WRONG_UNIT]
    assert parcel.rejects[0].detail == "record 2: no sensor 'keel' in her record"


def test_rows_of_the_table_that_read_one_topic_fill_one_parcel() -> None:
    parcel = read("sensors/tern/climate", b'{"t": 3.5, "mm": 12.5}')
    assert sorted((r.sensor, r.value) for r in parcel.readings) == [("block", 3.5), ("level", 0.0125)]


def test_what_one_row_cannot_read_does_not_hinder_another() -> None:
    parcel = read("sensors/tern/climate", b'{"t": 3.5}')
    assert [r.sensor for r in parcel.readings] == ["block"]
    assert [r.detail for r in parcel.rejects] == ["no /mm in the message"]


def test_a_row_may_read_a_topic_below_the_vessels_own() -> None:
    assert read("layup/north/tern/tele", b'{"t": 3.5}').readings == [RawReading("tern", "block", 3.5)]


def test_every_filter_is_subscribed_to_once_and_none_that_brings_nothing_new() -> None:
    assert READER.filters == ("layup/north/+/+", "layup/north/forecast", "sensors/+/climate")


def test_a_new_version_of_the_record_is_read_by_at_once() -> None:
    yard = Yard()
    reader = Reader("north", yard)
    assert read("layup/north/tern/float", b"on", reader).rejects == []
    yard.tern = tern("block")
    assert read("layup/north/tern/float", b"on", reader).rejects[0].reason is RejectReason.UNKNOWN_SENSOR


def test_a_reject_is_one_short_printable_line() -> None:
    reject = read("layup/north/tern/" + "k\x1b\n" * 300, b"1").rejects[0]
    assert reject.topic.isprintable()
    assert reject.detail.isprintable()
    assert len(reject.topic) <= 200
    assert len(reject.detail) <= 200


topics = st.text(max_size=40) | st.sampled_from(
    [
        "layup/north/tern/readings",
        "layup/north/tern/block",
        "layup/north/tern/float",
        "layup/north/tern/tele",
        "layup/north/agent/clock",
        "layup/north/agent/marker",
        "sensors/tern/climate",
        "layup/north/" + "/" * 60_000,
    ]
)
payloads = st.binary(max_size=300) | st.text(
    st.sampled_from('[]{}",:0123456789.eE-+tfn "blockvu\\\x00'), max_size=200
).map(str.encode)


@given(topics, payloads)
def test_no_bytes_whatever_make_it_raise(topic: str, payload: bytes) -> None:
    parcel = read(topic, payload)
    assert all(r.detail.isprintable() and len(r.detail) <= 200 and len(r.topic) <= 200 for r in parcel.rejects)


def test_a_directory_that_knows_nobody_rejects_everything() -> None:
    class Nobody:
        def vessel(self, vessel_id: str) -> Vessel | None:
            del vessel_id

    parcel = read("layup/north/tern/block", b"1", Reader("north", Nobody()))
    assert parcel.rejects[0].reason is RejectReason.UNKNOWN_VESSEL
