"""A winter's messages on the wire: read back by intake as they were meant."""

import json

import pytest

from monitor.intake.channel import channels_of
from monitor.intake.reader import Reader
from monitor.intake.senml import decode_pack
from monitor.model.parcel import ClockMessage, RawReading
from monitor.model.vessel import Vessel
from simulator.winter import ForecastIssued, Pack, RecordChanged
from simulator.wire import RELATIVE_BELOW_MS, Wire, pack_bytes
from simulator.yard import yard_vessels

AT_MS = 1_700_000_000_000
HOUR_MS = 3_600_000


class Directory:
    """The records of the yard."""

    def vessel(self, vessel_id: str) -> Vessel | None:
        return {v.id: v for v in yard_vessels()}.get(vessel_id)


def readings(at_ms: int) -> list[tuple[str, str, int, float]]:
    return [("cabin", "Cel", at_ms, 4.5), ("mains", "/", at_ms, 1.0), ("cabin-humidity", "%RH", at_ms - 2000, 61.0)]


def test_packs_clocks_and_forecasts_are_read_back_as_they_were_written() -> None:
    wire = Wire("eiderhythe")
    reader = Reader("eiderhythe", Directory())
    hours = [(AT_MS + n * HOUR_MS, -1.5 - n) for n in range(48)]
    written = [wire.write(m) for m in (Pack("oat-harvest", AT_MS, readings(AT_MS)), ClockMessage(AT_MS))]
    written.append(wire.write(ForecastIssued(AT_MS, hours)))
    pack, clock, forecast = [reader.read(*w, mid=1, qos=1, session=1, retained=False) for w in written if w is not None]
    assert sorted((r.sensor, r.stated_ms, r.value) for r in pack.readings) == [
        ("cabin", AT_MS, 4.5),
        ("cabin-humidity", AT_MS - 2000, 61.0),
        ("mains", AT_MS, 1.0),
    ]
    assert clock.clock == ClockMessage(AT_MS)
    assert forecast.forecast is not None
    assert forecast.forecast.hours == tuple(hours)
    assert not pack.rejects + clock.rejects + forecast.rejects


def test_all_times_are_moved_alike_but_those_of_a_clock_that_has_lost_the_time() -> None:
    wire, moved = Wire("eiderhythe"), Wire("eiderhythe", shift_ms=HOUR_MS)
    assert moved.write(ClockMessage(AT_MS)) == wire.write(ClockMessage(AT_MS + HOUR_MS))
    assert moved.write(Pack("tern", AT_MS, readings(AT_MS))) == wire.write(
        Pack("tern", AT_MS, readings(AT_MS + HOUR_MS))
    )
    late = ForecastIssued(AT_MS, [(AT_MS + HOUR_MS, 2.0)])
    assert moved.write(ForecastIssued(AT_MS, [(AT_MS, 2.0)])) == wire.write(late)
    assert moved.write(Pack("tern", AT_MS, readings(60_000))) == wire.write(Pack("tern", AT_MS, readings(60_000)))


def test_a_new_version_of_a_record_does_not_go_over_mqtt() -> None:
    assert Wire("eiderhythe").write(RecordChanged(AT_MS, yard_vessels()[0])) is None


@pytest.mark.parametrize("stated_ms", [2_000, 600_000, RELATIVE_BELOW_MS - 2000])
def test_a_clock_in_the_seventies_is_taken_as_so_long_from_now(stated_ms: int) -> None:
    (record,) = [v for v in yard_vessels() if v.id == "oat-harvest"]
    decoded = decode_pack(pack_bytes(readings(stated_ms)), channels_of(record))
    # RFC 8428, 4.5.3: times below 2**28 s are relative to now.
    assert RawReading("oat-harvest", "cabin", 4.5, None, stated_ms) in decoded.readings
    assert RawReading("oat-harvest", "cabin-humidity", 61.0, None, stated_ms - 2000) in decoded.readings
    assert not decoded.refusals


def test_an_ordinary_pack_states_its_base_time_once() -> None:
    (first, second, third) = json.loads(pack_bytes(readings(AT_MS)))
    assert first == {"bt": AT_MS / 1000, "n": "cabin", "u": "Cel", "v": 4.5}
    assert second == {"n": "mains", "u": "/", "vb": True}
    assert third["t"] == -2.0
