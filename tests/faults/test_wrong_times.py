"""Sensors whose clocks are wrong: backwards, the same time again, a year ahead: kept and marked as DESIGN has it."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from boats import DAY, HOUR, MINUTE
from figures import held_against
from fixtures_broker import Broker
from gateways import publish
from troubled import Key, TroubledYard, boats, now_ms, records

from monitor.fleet import Fleet, NothingStored
from monitor.model.inputs import RecordVersion
from monitor.model.parcel import Parcel, RawReading

LATE, CLOCK_FAULT = 1, 2
"""Marks of a reading in the journal (0001_journal.sql)."""
YEAR = 365 * DAY
FLOATS = ("boat000", "boat001", "boat002", "boat003")


@pytest.fixture
def yard(tmp_path: Path, broker: Broker) -> Iterator[TroubledYard]:
    made = TroubledYard(tmp_path / "yard", broker, boats(4))
    made.start()
    yield made
    made.end()


class Sender:
    """Sends readings of one sensor, and waits until they are in the journal or counted."""

    def __init__(self, yard: TroubledYard, broker: Broker) -> None:
        self.sent: dict[Key, float] = {}
        self.acknowledged = 0
        self._yard, self._broker = yard, broker

    def send(self, vessel: str, sensor: str, at_ms: int, value: float) -> None:
        pack = [reading for reading in records(at_ms, {sensor: value}) if reading[0] == sensor]
        sent, acknowledged = publish(self._broker, [(vessel, pack)])
        self.acknowledged += acknowledged
        self.sent = sent | self.sent  # the first value wins

    def heard(self) -> None:
        """Wait until all that was sent has been stored or counted."""
        again = self.acknowledged - len(self.sent)

        def is_heard() -> bool:
            tally = self._yard.tally()
            counted = tally.get("duplicate", 0) + tally.get("conflict", 0)
            return self._yard.count() >= len(self.sent) and counted >= again

        self._yard.until(is_heard, what=f"{len(self.sent)} stored and {again} counted")


def mark(yard: TroubledYard, vessel: str, sensor: str, at_ms: int) -> tuple[int, int, int]:
    """Give a stored reading's mark, event time and arrival."""
    query = "SELECT vessel, sensor, stated_ms, mark, event_ms, arrived_ms FROM reading JOIN series ON id = series"
    return next(row[3:] for row in yard.rows(query) if row[:3] == (vessel, sensor, at_ms))


@pytest.mark.broker
@pytest.mark.slow
def test_wrong_times_are_kept_marked_and_counted_and_the_boat_goes_on_being_watched(
    yard: TroubledYard, broker: Broker
) -> None:
    now = now_ms()
    sender = Sender(yard, broker)
    # Backwards in time, each older than the one before it.
    for step in range(20):
        sender.send("boat000", "engine-space", now - step * MINUTE, 6.0 - step / 100)
    # Twice the same, and twice with another value.
    sender.send("boat001", "outside", now, 5.0)
    sender.send("boat001", "outside", now, 5.0)
    sender.send("boat001", "outside", now, 9.0)
    # A year ahead, before the lay-up, and then right again.
    sender.send("boat002", "outside", now + YEAR, 5.0)
    sender.send("boat002", "outside", now - YEAR, 5.1)
    sender.send("boat002", "outside", now + 1000, 5.2)
    sender.heard()
    tally = yard.tally()
    assert {name: tally.get(name, 0) for name in ("late", "duplicate", "conflict", "clock fault")} == {
        "late": 19,
        "duplicate": 1,
        "conflict": 1,
        "clock fault": 2,
    }
    assert mark(yard, "boat000", "engine-space", now)[0] == 0
    assert mark(yard, "boat000", "engine-space", now - 19 * MINUTE)[0] == LATE
    for stated_ms in (now + YEAR, now - YEAR):
        marked, event_ms, arrived_ms = mark(yard, "boat002", "outside", stated_ms)
        assert marked & CLOCK_FAULT
        assert event_ms == arrived_ms
        assert abs(arrived_ms - now) < HOUR
    again = sender.acknowledged - len(sender.sent)
    stored = yard.count()
    # The boats are still watched: a float of each, with a clock a year ahead, a year behind, an hour late, and right.
    for vessel, off_ms in zip(FLOATS, (YEAR, -YEAR, -HOUR, 0), strict=True):
        sender.send(vessel, "bilge-float", now_ms() + off_ms, 1.0)

    def alarms() -> set[str]:
        found = [a for a in yard.open_alerts() if a["rule"] == "bilge" and a["priority"] == "alarm"]
        return {alert["vessel"] for alert in found}

    yard.until(lambda: alarms() == set(FLOATS), what="an alarm of each float")
    sender.heard()
    assert yard.count() == stored + 4
    silent = [alert for alert in yard.open_alerts() if alert["rule"] == "silence"]
    assert yard.stop() == 0
    held_against(
        "sensors that send backwards, the same time twice, a year ahead and behind",
        yard,
        sender.sent,
        sender.acknowledged - again,
        f"{again} more said a time again: counted, the first value kept; floats with wrong clocks were alarms at once",
    )
    assert silent == []


def test_a_float_whose_clock_falls_back_while_it_runs_is_a_warning_in_a_minute_and_then_an_alarm() -> None:
    (vessel,) = boats(1)
    fleet = Fleet(NothingStored())
    start_ms = now_ms() // MINUTE * MINUTE
    fleet.command(RecordVersion(vessel, start_ms - HOUR, "test"))

    def priorities(at_ms: int, stated_ms: int, value: float) -> list[str]:
        raw = RawReading(vessel.id, "bilge-float", value, stated_ms)
        fleet.clock(at_ms)
        fleet.take(Parcel(1, 1, 1, retained=False, topic="", readings=[raw]), at_ms + 1000, caught_up=True)
        return [event.priority.word for _, _, event in fleet.hand_over().events]

    assert priorities(start_ms, start_ms, 0.0) == []
    back_ms = 20 * MINUTE
    said = {}
    for minute in range(1, 30):
        for priority in priorities(start_ms + minute * MINUTE, start_ms + minute * MINUTE - back_ms, 1.0):
            said[priority] = minute
    assert said == {"warning": 2, "alarm": 20}  # an alarm once it states the second of its last word, or a later one
