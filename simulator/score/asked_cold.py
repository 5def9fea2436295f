"""What the score asks where it freezes: liquid systems and batteries."""

from collections.abc import Iterator
from datetime import datetime

from monitor.model.equipment import LiquidSystem, SystemState
from monitor.model.surroundings import YardCalendar
from simulator.score.case import DAY_MS, Case
from simulator.score.episodes import Episode
from simulator.score.rows import BATTERY_FROZEN, FREEZE_ALONE, FREEZE_DRAINED, FREEZE_FORECAST, Row
from simulator.truth import HarmKind

# YardCalendar looks 30 days ahead at the most: no yard closes for so long.
_LOOK_BACK_DAYS = 29


def freezes(case: Case) -> Iterator[tuple[Episode, set[str]]]:
    """Ask for every liquid system that begins to freeze, and name the thermometers it would be seen by."""
    systems = {s.id: s for s in case.record.liquid_systems}
    for harm in case.harms(HarmKind.FREEZES):
        system = systems[harm.subject]
        row = _row(system, has_forecast=case.has_forecast)
        notice_ms = last_notice_ms(case.calendar, harm.at_ms) if row is FREEZE_FORECAST else None
        sensor = system.sensor or case.record.outside_sensor
        yield (
            Episode(
                row=row.name,
                vessel=harm.vessel,
                keys=(("frost", harm.subject),),
                begins_ms=case.begins_ms,
                due_ms=harm.at_ms,
                until_ms=harm.at_ms,
                target_s=row.target_s,
                due_notice_ms=notice_ms,
            ),
            set() if sensor is None else {sensor},
        )


def frozen_batteries(case: Case) -> Iterator[tuple[Episode, set[str]]]:
    """Ask for every battery that freezes, and name its sensors."""
    banks = {b.id: b for b in case.record.batteries}
    for harm in case.harms(HarmKind.BATTERY_FROZEN):
        bank = banks[harm.subject]
        sensors = {bank.voltage_sensor, bank.temperature_sensor or case.record.outside_sensor} - {None}
        yield (
            Episode(
                row=BATTERY_FROZEN.name,
                vessel=harm.vessel,
                keys=(("battery", harm.subject), ("frost", harm.subject)),
                begins_ms=case.begins_ms,
                due_ms=harm.at_ms,
                until_ms=harm.at_ms,
            ),
            {s for s in sensors if s is not None},
        )


def last_notice_ms(calendar: YardCalendar, at_ms: int) -> int | None:
    """Give the notice time of the last working day that was over at a time, ms UTC.

    Who is told by then can still be sent before everybody goes home. None where no day of the last month was worked.
    """
    some_day = datetime(2000, 1, 1)  # noqa: DTZ001 - only the span between two times of one day is asked
    after = datetime.combine(some_day, calendar.ends) - datetime.combine(some_day, calendar.notice_by)
    after_ms = round(after.total_seconds() * 1000)
    times = []
    for notice_ms in calendar.notice_times(at_ms - _LOOK_BACK_DAYS * DAY_MS):
        if notice_ms + after_ms > at_ms:
            break
        times.append(notice_ms)
    return times[-1] if times else None


def is_proven_dry(system: LiquidSystem) -> bool:
    """Say whether the record has it drained, with every drain probed."""
    return system.state is SystemState.DRAINED and all(drain.probed for drain in system.drains)


def _row(system: LiquidSystem, *, has_forecast: bool) -> Row:
    if is_proven_dry(system):
        return FREEZE_DRAINED
    return FREEZE_FORECAST if has_forecast else FREEZE_ALONE
