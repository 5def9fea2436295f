"""The fold over the journal: batches change nothing, a kill changes nothing, nothing is counted twice."""

import random
from dataclasses import asdict
from pathlib import Path

import pytest
from boats import DAY, HOUR, LAID_UP_MS, MINUTE, boat
from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.fleet import CommandError, Fleet, NothingStored, Save
from monitor.model.batch import Batch
from monitor.model.inputs import (
    Aboard,
    Accept,
    Acknowledge,
    BringBack,
    Confirm,
    HandOver,
    RecordVersion,
    Shelve,
    Suppress,
    TakeOut,
    VisitReport,
)
from monitor.model.parcel import Parcel, RawReading
from monitor.model.scale import AlertState
from monitor.model.surroundings import YardCalendar
from monitor.model.visit import Found, VisitNote
from monitor.store.journal import Journal

START = LAID_UP_MS


def parcel(*readings: RawReading, retained: bool = False) -> Parcel:
    return Parcel(1, 1, 1, retained, "layup/quay/tern/readings", list(readings))


def at(hours: float) -> int:
    return START + round(hours * HOUR)


def week(seed: int) -> list[tuple[str, object]]:
    """A week of hourly packs, a frost past the tested point and a float that goes up."""
    source = random.Random(seed)
    items: list[tuple[str, object]] = []
    for hour in range(1, 24 * 7):
        now = at(hour)
        items.append(("clock", now))
        depth = -24 if 60 < hour < 80 else 4
        readings = [
            RawReading("tern", "engine-space", round(depth + source.gauss(0, 0.3), 1), now),
            RawReading("tern", "outside", round(depth - 2 + source.gauss(0, 0.3), 1), now),
            RawReading("tern", "bilge-level", round(0.01 + source.gauss(0, 0.002), 3), now),
            RawReading("tern", "house-volts", round(12.6 + source.gauss(0, 0.01), 2), now),
        ]
        if hour % 24 == 0:
            readings.append(RawReading("tern", "bilge-float", 1.0 if hour == 120 else 0.0, now))
        items.append(("parcel", parcel(*readings)))
    return items


def feed(fleet: Fleet, item: tuple[str, object]) -> None:
    kind, value = item
    if kind == "clock":
        assert isinstance(value, int)
        fleet.clock(value)
    else:
        assert isinstance(value, Parcel)
        fleet.take(value, fleet.clock_ms, caught_up=True)


def imported() -> Fleet:
    fleet = Fleet(NothingStored())
    fleet.command(RecordVersion(boat(), START, "test"))
    return fleet


def run(items: list[tuple[str, object]], cuts: set[int]) -> list[Batch]:
    fleet, batches = imported(), []
    for number, item in enumerate(items):
        feed(fleet, item)
        if number in cuts:
            batches.append(fleet.hand_over())
    return [*batches, fleet.hand_over()]


def events_of(batches: list[Batch]) -> list[tuple[object, ...]]:
    return [(seq, place, *asdict(event).values()) for batch in batches for seq, place, event in batch.events]


@settings(max_examples=20, deadline=None)
@given(st.sets(st.integers(min_value=0, max_value=330), max_size=60), st.integers(min_value=0, max_value=5))
def test_how_inputs_are_batched_changes_no_event(cuts: set[int], seed: int) -> None:
    items = week(seed)
    whole = events_of(run(items, set()))
    assert len(whole) >= 2
    assert events_of(run(items, cuts)) == whole


@pytest.mark.parametrize("seed", range(4))
def test_a_killed_fleet_comes_back_to_the_same_alerts(tmp_path: Path, seed: int) -> None:
    items = week(seed)
    expected = events_of(run(items, set()))
    source = random.Random(seed)
    path = tmp_path / "journal.sqlite"
    journal = Journal(path)
    fleet = Fleet(journal)
    fleet.command(RecordVersion(boat(), START, "test"))
    journal.append(fleet.hand_over())
    kept: list[Batch] = []
    next_item = 0
    while next_item < len(items):
        # Some batches are committed, the last one may be lost: what was not committed is given again, as a broker does.
        end = min(next_item + source.randrange(1, 40), len(items))
        committed = next_item
        for number in range(next_item, end):
            feed(fleet, items[number])
            if source.random() < 0.3:
                batch = fleet.hand_over(source.choice(list(Save)))
                journal.append(batch)
                kept.append(batch)
                committed = number + 1
        journal.close()
        journal = Journal(path)
        fleet = Fleet(journal)
        fleet.restore(journal)
        # A broker gives again from a little before what was committed: the repeats must not count.
        next_item = max(0, committed - source.randrange(3))
        if committed == len(items):
            break
    assert [e[2:] for e in events_of(kept)] == [e[2:] for e in expected]
    assert [e[0] for e in events_of(kept)] == [e[0] for e in expected]


def test_a_repeated_reading_is_counted_and_not_folded() -> None:
    fleet = imported()
    one = RawReading("tern", "engine-space", 4.0, at(1))
    fleet.take(parcel(one), at(1), caught_up=True)
    fleet.take(parcel(one), at(1), caught_up=True)
    fleet.take(parcel(RawReading("tern", "engine-space", 9.0, at(1))), at(1), caught_up=True)
    batch = fleet.hand_over()
    assert len(batch.readings) == 1
    assert batch.counts == {"duplicate": 1, "conflict": 1}


def test_a_year_ahead_is_a_clock_fault_folded_at_arrival() -> None:
    fleet = imported()
    fleet.take(parcel(RawReading("tern", "engine-space", 4.0, at(1) + 365 * DAY)), at(1), caught_up=True)
    ((_, reading),) = fleet.hand_over().readings
    assert (reading.clock_fault, reading.event_ms, reading.stated_ms) == (True, at(1), at(1) + 365 * DAY)
    assert fleet.watches["tern"].state.now_ms == at(1)


def test_a_reading_from_before_the_lay_up_is_a_clock_fault() -> None:
    fleet = imported()
    fleet.take(parcel(RawReading("tern", "engine-space", 4.0, START - DAY)), at(1), caught_up=True)
    ((_, reading),) = fleet.hand_over().readings
    assert reading.clock_fault


def test_five_minutes_ahead_is_still_believed() -> None:
    fleet = imported()
    fleet.take(parcel(RawReading("tern", "engine-space", 4.0, at(1) + 5 * MINUTE)), at(1), caught_up=True)
    ((_, reading),) = fleet.hand_over().readings
    assert not reading.clock_fault


def test_an_older_reading_is_late_and_stored() -> None:
    fleet = imported()
    for hour in (5, 3):
        fleet.take(parcel(RawReading("tern", "engine-space", 4.0, at(hour))), at(6), caught_up=True)
    batch = fleet.hand_over()
    assert [r.late for _, r in batch.readings] == [False, True]
    assert batch.counts == {"late": 1}


def test_two_bare_numbers_in_one_millisecond_are_two_readings() -> None:
    fleet = imported()
    bare = RawReading("tern", "engine-space", 4.0)
    fleet.take(parcel(bare), at(1), caught_up=True)
    fleet.take(parcel(bare), at(1), caught_up=True)
    assert [r.stated_ms - at(1) for _, r in fleet.hand_over().readings] == [0, 1]


@pytest.mark.parametrize(("retained", "caught_up"), [(True, True), (False, False)])
def test_a_bare_number_that_may_be_old_is_stored_and_is_not_news(retained: bool, caught_up: bool) -> None:
    fleet = imported()
    message = parcel(RawReading("tern", "engine-space", -30.0), retained=retained)
    fleet.take(message, at(1), caught_up=caught_up)
    ((_, reading),) = fleet.hand_over().readings
    assert not reading.news
    assert "engine-space" not in fleet.watches["tern"].state.newest


@pytest.mark.parametrize("retained", [True, False])
def test_water_counts_as_now_even_when_it_may_be_old_and_tells_nothing_of_its_sensor(retained: bool) -> None:
    fleet = imported()
    fleet.take(parcel(RawReading("tern", "bilge-float", 1.0), retained=retained), at(1), caught_up=False)
    assert [(a.rule, a.priority.word) for a in fleet.watches["tern"].open_alerts()] == [("bilge", "alarm")]
    assert fleet.watches["tern"].state.newest == {}
    # And what may be old clears nothing.
    fleet.take(parcel(RawReading("tern", "bilge-float", 0.0), retained=retained), at(2), caught_up=False)
    fleet.clock(at(20))
    assert [a.returned_ms for a in fleet.watches["tern"].open_alerts() if a.rule == "bilge"] == [None]


def test_acknowledging_an_unknown_alert_is_refused_in_words() -> None:
    fleet = imported()
    with pytest.raises(CommandError, match="no open alert"):
        fleet.command(Acknowledge("tern", "no-such", at(1), "R. Invented"))
    with pytest.raises(CommandError, match="no vessel"):
        fleet.command(Acknowledge("gull", "no-such", at(1), "R. Invented"))


def test_an_acknowledgement_is_an_input_like_any_other(tmp_path: Path) -> None:
    journal = Journal(tmp_path / "journal.sqlite")
    fleet = Fleet(journal)
    fleet.command(RecordVersion(boat(), START, "test"))
    for item in week(1)[:160]:
        feed(fleet, item)
    alert = fleet.watches["tern"].open_alerts()[0]
    fleet.command(Acknowledge("tern", alert.id, fleet.clock_ms or 0, "R. Invented", "on my way"))
    journal.append(fleet.hand_over())
    again = Fleet(journal)
    again.restore(journal)
    (open_alert,) = [a for a in again.watches["tern"].open_alerts() if a.id == alert.id]
    assert (open_alert.state, open_alert.acknowledged_by) == (AlertState.ACKNOWLEDGED, "R. Invented")
    assert open_alert in journal.open_alerts("tern")


def test_everything_that_people_do_is_folded_again_at_a_start(tmp_path: Path) -> None:
    journal = Journal(tmp_path / "journal.sqlite")
    fleet = Fleet(journal)
    fleet.command(RecordVersion(boat(), START, "test"))
    for item in week(1)[:160]:
        feed(fleet, item)
    alert = fleet.watches["tern"].open_alerts()[0]
    now, who = fleet.clock_ms or 0, "R. Invented"
    for command in (
        HandOver("tern", alert.id, now, who, "A. Other", "your winter"),
        Accept("tern", alert.id, now, "A. Other"),
        Confirm("tern", alert.id, now, "A. Other", "no split seen"),
        Shelve("tern", alert.id, now, who, "heater is on its way", now + 5 * HOUR),
        BringBack("tern", alert.id, now, who),
        TakeOut("tern", alert.id, now, who, "probe is broken"),
        VisitReport("tern", now, "A. Other", VisitNote(Found.AS_TOLD)),
        Suppress("tern", now, who, Aboard.LIFT, now + 3 * HOUR),
    ):
        fleet.command(command)
    journal.append(fleet.hand_over())
    again = Fleet(journal)
    again.restore(journal)
    assert again.watches["tern"].state == fleet.watches["tern"].state
    assert again.watches["tern"].open_alerts() == fleet.watches["tern"].open_alerts()
    for item in week(1)[160:]:
        feed(fleet, item)
        feed(again, item)
    assert events_of([again.hand_over()]) == events_of([fleet.hand_over()])


def test_a_clock_that_does_not_rise_is_no_input() -> None:
    fleet = imported()
    fleet.clock(at(2))
    fleet.clock(at(2))
    fleet.clock(at(1))
    assert fleet.hand_over().last_seq == 2


def test_water_is_not_lost_to_a_first_value_of_the_same_second() -> None:
    fleet = imported()
    for value in (0.0, 1.0):
        fleet.take(parcel(RawReading("tern", "bilge-float", value, at(1))), at(1), caught_up=True)
    batch = fleet.hand_over()
    assert [(r.stated_ms - at(1), r.value) for _, r in batch.readings] == [(0, 0.0), (1, 1.0)]
    assert [a.rule for a in fleet.watches["tern"].open_alerts()] == ["bilge"]


def test_a_sensor_whose_clock_stands_still_before_the_lay_up_is_heard_all_the_same() -> None:
    fleet = imported()
    for hour in range(1, 5):
        fleet.take(
            parcel(RawReading("tern", "bilge-float", float(hour == 4), 946_684_800_000)), at(hour), caught_up=True
        )
    assert [r.event_ms for _, r in fleet.hand_over().readings] == [at(1), at(2), at(3), at(4)]
    assert [a.rule for a in fleet.watches["tern"].open_alerts()] == ["bilge"]


def test_a_calendar_and_a_forecast_are_inputs_once(tmp_path: Path) -> None:
    journal = Journal(tmp_path / "journal.sqlite")
    fleet = Fleet(journal)
    calendar = YardCalendar(zone="Europe/Oslo")
    fleet.command(RecordVersion(boat(), START, "test"))
    for _ in range(2):
        fleet.calendar(calendar, at(1))
        fleet.forecast([(at(2), -3.0), (at(3), -4.0)], at(1))
    fleet.command(RecordVersion(boat(id="gull"), at(1), "test"))
    journal.append(fleet.hand_over(Save.CHANGED))
    again = Fleet(journal)
    again.restore(journal)
    assert again.surroundings == fleet.surroundings
    for vessel in ("tern", "gull"):
        known = again.watches[vessel].state.surroundings
        assert known.calendar == calendar
        assert known.forecast is not None
        assert [hour.degc for hour in known.forecast.hours] == [-3.0, -4.0]
