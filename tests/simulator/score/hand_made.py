"""Hand-made truth, alerts and results for the score's tests."""

from datetime import UTC, datetime
from typing import Any

from boats import boat, sensor

from monitor.model.alert import AlertChange, AlertEvent
from monitor.model.scale import AlertState, Priority
from monitor.model.surroundings import YardCalendar
from monitor.model.vessel import Vessel
from simulator.score.asked import episodes_of
from simulator.score.case import Case
from simulator.score.episodes import Stretch
from simulator.score.judge import side_of, told_of
from simulator.score.results import FalseAlert, Side, Told, VesselWinter
from simulator.truth import Cause, Explains, Harm, HarmKind, Mark, TruthLog

MINUTE = 60_000
HOUR = 3_600_000
DAY = 24 * HOUR
# A Monday, so that day 1 is a Tuesday.
BEGINS = round(datetime(2013, 11, 4, tzinfo=UTC).timestamp() * 1000)
ENDS = BEGINS + 150 * DAY
WARNING, ALARM, CAUTION = Priority.WARNING, Priority.ALARM, Priority.CAUTION


def at(day: float, hour: float = 0.0) -> int:
    """A time of the winter; day 0 is Monday the 4th of November."""
    return BEGINS + round(day * DAY + hour * HOUR)


def afloat(**changes: Any) -> Vessel:
    """The tests' boat, afloat with one bilge whose starter stands at 0.3 m."""
    bilge = {
        "id": "bilge",
        "name": "Bilge",
        "level_sensor": "bilge-level",
        "float_sensor": "bilge-float",
        "high_m": 0.1,
        "starter_m": 0.3,
    }
    return boat(**{"mode": "afloat laid up", "plot": None, "berth": "N1", "bilges": [bilge]} | changes)


def dried(**changes: Any) -> Vessel:
    """The tests' boat with a dehumidifier, a charger and shore power that a mains sensor sees."""
    base = boat().model_dump(mode="json")
    sensors = [
        *base["sensors"],
        sensor("cabin", "temperature"),
        sensor("humidity", "humidity"),
        sensor("mains", "mains"),
    ]
    battery = {**base["batteries"][0], "charger": True}
    parts: dict[str, Any] = {
        "sensors": sensors,
        "batteries": [battery],
        "spaces": [{"id": "saloon", "name": "Saloon", "humidity_sensor": "humidity", "temperature_sensor": "cabin"}],
        "dehumidifier": {"running": True, "space": "saloon"},
        "shore_power": {"on": True, "mains_sensor": "mains"},
    }
    return boat(**parts | changes)


def wet(**changes: Any) -> Vessel:
    """The tests' boat with a fresh-water system left wet beside the treated one."""
    systems = [
        *boat().model_dump(mode="json")["liquid_systems"],
        {"id": "fresh-water", "name": "Fresh water", "kind": "fresh water", "state": "wet", "sensor": "engine-space"},
    ]
    return boat(**{"liquid_systems": systems} | changes)


def harm(kind: HarmKind, subject: str, at_ms: int, ended_ms: int | None = None) -> Harm:
    return Harm(kind, "tern", subject, at_ms, ended_ms)


def cause(
    kind: str,
    subject: str,
    begins_ms: int,
    ends_ms: int | None = None,
    explains: tuple[Explains, ...] = (),
    **facts: float | str | bool,
) -> Cause:
    return Cause(kind, "tern", subject, begins_ms, ends_ms, explains, facts=facts)


def mark(kind: str, subject: str, at_ms: int) -> Mark:
    return Mark(kind, "tern", subject, at_ms)


def case(record: Vessel, *truth: Harm | Cause | Mark, has_forecast: bool = False) -> Case:
    log = TruthLog(
        causes=[t for t in truth if isinstance(t, Cause)],
        harms=[t for t in truth if isinstance(t, Harm)],
        marks=[t for t in truth if isinstance(t, Mark)],
    )
    return Case(log, record, YardCalendar(), has_forecast, BEGINS, ENDS)


def stood(key: str, from_ms: int, to_ms: int = ENDS, priority: Priority = WARNING) -> list[Stretch]:
    """An alert that stood at a priority: a stretch for each level up to it."""
    rule, subject = key.split("/")
    return [Stretch(rule, subject, level, from_ms, to_ms) for level in (WARNING, ALARM) if level <= priority]


def told(given: Case, *stretches: list[Stretch]) -> dict[str, Told]:
    """What came of the episodes, by row; a row that stands twice is an error of the test."""
    flat = [s for some in stretches for s in some]
    episodes = episodes_of(given)
    by_row = {e.row: told_of(e, flat) for e in episodes}
    assert len(by_row) == len(episodes), [e.row for e in episodes]
    return by_row


def false(given: Case, *stretches: list[Stretch]) -> list[tuple[str, str]]:
    """The false alerts, as (priority, key)."""
    return [(f.priority, f.key) for f in side_of(given, [s for some in stretches for s in some]).false]


def event(change: AlertChange, at_ms: int, priority: Priority, alert: str = "a") -> AlertEvent:
    return AlertEvent(alert, "tern", at_ms, change, AlertState.UNACKNOWLEDGED, priority, "watch")


def line(
    vessel: str,
    *told_: Told,
    warnings: int = 0,
    alarms: int = 0,
    opened: int = 0,
    seed: int = 1,
    fixed: Side | None = None,
) -> VesselWinter:
    """A vessel-winter of 150 days."""
    cried = [FalseAlert(key="damp/saloon", priority="warning", at_ms=at(1))] * warnings
    cried += [FalseAlert(key="bilge/bilge", priority="alarm", at_ms=at(2))] * alarms
    side = Side(told=told_, false=tuple(cried), opened=opened)
    return VesselWinter(
        winter="made", seed=seed, vessel=vessel, days=150, watch=side, fixed=side if fixed is None else fixed
    )


def caught(row: str, seconds: float, *, within: bool | None = None) -> Told:
    return Told(row=row, at_ms=at(50), caught=True, opened_ms=at(40), seconds=seconds, within=within)


def missed(row: str, seconds: float = 0.0, *, within: bool | None = None) -> Told:
    return Told(row=row, at_ms=at(50), caught=False, opened_ms=None, seconds=seconds, within=within)
