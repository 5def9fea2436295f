"""The fixed-threshold watch on hand-made packs: what somebody would set up who knows no record."""

from collections.abc import Iterable

import pytest
from boats import boat
from hand_made import ALARM, BEGINS, ENDS, HOUR, MINUTE, WARNING, afloat, at, dried, wet

from monitor.model.parcel import ClockMessage
from monitor.model.vessel import Vessel
from simulator.score.baseline import Baseline
from simulator.score.episodes import Stretch
from simulator.winter import Message, Pack

Told = list[tuple[str, str, int, int, int]]


def pack(at_ms: int, **values: float) -> list[Message]:
    readings = [(name.replace("_", "-"), "", at_ms, value) for name, value in values.items()]
    return [ClockMessage(at_ms), Pack("tern", at_ms, readings)]


def hourly(record: Vessel, *values: dict[str, float]) -> list[Message]:
    """A pack an hour; a sensor that is not named says what is harmless, and an empty pack is silence."""
    harmless = {"outside": 9.0, "engine-space": 9.0, "bilge-level": 0.01, "bilge-float": 0.0, "house-volts": 12.7}
    harmless |= {"cabin": 9.0, "humidity": 55.0, "mains": 1.0}
    aboard = {s.id for s in record.sensors}
    messages: list[Message] = []
    for n, changed in enumerate(values, 1):
        said = {k: v for k, v in harmless.items() if k in aboard} | {k.replace("_", "-"): v for k, v in changed.items()}
        messages += pack(BEGINS + n * HOUR, **said)
    return messages


def watched(record: Vessel, messages: Iterable[Message], ends_ms: int = ENDS) -> Told:
    """What was told, as (rule, subject, priority, hour it began, hour it ended)."""
    baseline = Baseline(record, BEGINS)
    for message in messages:
        baseline.take(message)
    found: list[Stretch] = baseline.stretches(ends_ms)
    return sorted(
        (s.rule, s.subject, int(s.priority), (s.from_ms - BEGINS) // HOUR, (s.to_ms - BEGINS) // HOUR) for s in found
    )


FINE: dict[str, float] = {}
W, A = int(WARNING), int(ALARM)


def test_fine_readings_tell_nothing() -> None:
    record = dried()
    assert watched(record, hourly(record, *[FINE] * 20), at(0, 20)) == []


def test_cold_is_told_at_the_second_reading_and_clear_at_the_first_that_is_not() -> None:
    record = wet()
    cold = {"engine_space": -0.1}
    assert watched(record, hourly(record, FINE, cold, cold, cold, FINE, FINE), at(0, 6)) == [
        ("frost", "closed-cooling", W, 3, 5),
        ("frost", "fresh-water", W, 3, 5),
        ("frost", "house", W, 3, 5),
    ]


def test_one_cold_reading_tells_nothing() -> None:
    record = wet()
    cold = {"engine_space": -5.0}
    assert watched(record, hourly(record, FINE, cold, FINE, cold, FINE), at(0, 5)) == []


def test_all_that_hangs_on_one_thermometer_is_one_message() -> None:
    record = wet()
    baseline = Baseline(record, BEGINS)
    for message in hourly(record, {"engine_space": -1.0}, {"engine_space": -1.0}):
        baseline.take(message)
    found = baseline.stretches(at(0, 3))
    assert len(found) == 3
    assert {s.said for s in found} == {"engine-space under"}


def test_a_system_without_a_thermometer_goes_by_the_outside_air() -> None:
    system = {"id": "heads", "name": "Heads", "kind": "heads", "state": "wet"}
    record = boat(liquid_systems=[system], batteries=[])
    messages = hourly(record, {"outside": -3.0}, {"outside": -3.0})
    assert watched(record, messages, at(0, 3)) == [("frost", "heads", W, 2, 3)]


@pytest.mark.parametrize(("rh", "tells"), [(70.0, False), (70.1, True)])
def test_humidity_is_told_over_seventy(rh: float, tells: bool) -> None:
    record = dried()
    found = watched(record, hourly(record, {"humidity": rh}, {"humidity": rh}), at(0, 3))
    assert found == ([("damp", "dehumidifier", W, 2, 3), ("damp", "saloon", W, 2, 3)] if tells else [])


@pytest.mark.parametrize(("nominal_v", "volts", "tells"), [(12, 12.2, False), (12, 12.1, True), (24, 24.3, True)])
def test_volts_are_told_under_the_threshold_of_their_nominal(nominal_v: float, volts: float, tells: bool) -> None:
    battery = boat().batteries[0].model_dump(mode="json") | {"nominal_v": nominal_v}
    record = boat(batteries=[battery])
    found = watched(record, hourly(record, {"house_volts": volts}, {"house_volts": volts}), at(0, 3))
    assert found == ([("battery", "house", W, 2, 3)] if tells else [])


def test_a_float_is_an_alarm_at_once_and_a_level_at_its_second_reading() -> None:
    record = afloat()
    high = {"bilge_level": 0.12}
    up = pack(BEGINS + HOUR + 10 * MINUTE, bilge_float=1.0)
    by_float = watched(record, [*hourly(record, FINE), *up], at(0, 1) + HOUR // 2)
    assert by_float == [("bilge", "bilge", W, 1, 1), ("bilge", "bilge", A, 1, 1)]
    by_level = watched(record, hourly(record, high, high, FINE), at(0, 3))
    assert by_level == [("bilge", "bilge", W, 2, 3), ("bilge", "bilge", A, 2, 3)]


def test_lost_shore_power_is_told_at_once() -> None:
    record = dried()
    assert watched(record, hourly(record, FINE, {"mains": 0.0}, FINE), at(0, 3)) == [("power", "shore-power", W, 2, 3)]


def fast() -> Vessel:
    """The tests' boat with sensors that report every ten minutes."""
    record = boat()
    return record.model_copy(
        update={"sensors": tuple(s.model_copy(update={"interval_s": 600.0}) for s in record.sensors)}
    )


def ten_minutely(hours: float, *, but: str = "") -> list[Message]:
    """Packs every ten minutes, one sensor missing from the second hour on."""
    messages: list[Message] = []
    for n in range(1, round(hours * 6) + 1):
        said = {"outside": 9.0, "engine_space": 9.0, "bilge_level": 0.01, "bilge_float": 0.0, "house_volts": 12.7}
        if n > 6 and but:
            del said[but]
        messages += pack(BEGINS + n * 10 * MINUTE, **said)
    return messages


def clocks(from_h: int, to_h: int) -> list[Message]:
    return [ClockMessage(BEGINS + n * 10 * MINUTE) for n in range(6 * from_h + 1, 6 * to_h + 1)]


def test_a_sensor_is_silent_after_an_hour_while_others_are_heard() -> None:
    assert watched(fast(), ten_minutely(5, but="house_volts"), at(0, 5)) == [("silence", "house-volts", W, 2, 5)]


def test_all_sensors_silent_are_the_gateway_and_end_with_its_next_word() -> None:
    later = [m for m in ten_minutely(9) if isinstance(m, ClockMessage | Pack) and m.at_ms > at(0, 8)]
    assert watched(fast(), [*ten_minutely(3), *clocks(3, 8), *later], at(0, 9)) == [("silence", "gateway", W, 4, 8)]


def test_sensors_that_report_hourly_are_given_three_intervals() -> None:
    record = boat()
    messages = [*hourly(record, FINE), *clocks(1, 9)]
    assert watched(record, messages, at(0, 9)) == [("silence", "gateway", W, 4, 9)]


def test_what_the_record_does_not_know_tells_nothing() -> None:
    assert watched(boat(), [*pack(BEGINS + HOUR, stranger=-40.0)], at(0, 2)) == []
