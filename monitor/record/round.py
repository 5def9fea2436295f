"""Today's round: which boats somebody should go aboard, why, and what to do there; codes, in walking order."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import IntEnum
from zoneinfo import ZoneInfo

from monitor.model.alert import Alert
from monitor.model.inputs import VisitReport
from monitor.model.scale import Priority
from monitor.model.vessel import Vessel
from monitor.model.views import VesselNow
from monitor.model.walk import walking_key
from monitor.record.checks import Check, Taking, all_checks, checks_for, is_afloat, stands_ashore, takings_for
from monitor.record.round_limits import LIMITS
from monitor.record.visit_due import VisitDue, visit_due
from monitor.rules.maintenance_findings import RULE as MAINTENANCE
from monitor.rules.maintenance_findings import VISIT

SILENCE = "silence"
BILGE = "bilge"
AFTER_THAW = "visit after thaw"
CAUTIONS = ("never_alone_afloat", "shore_power_first", "gas_smell", "ladder")


class Why(IntEnum):
    """Why somebody should go aboard, the most pressing lowest."""

    ALARM = 0
    WARNING = 1
    UNCONFIRMED = 2
    """Something that has cleared, and stays open until somebody who was aboard has said what they found."""
    SILENCE = 3
    THAW = 4
    OVERDUE = 5
    DUE = 6

    @property
    def code(self) -> str:
        """The reason as it is written in data and word files."""
        return self.name.lower()


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason: with the alert behind it, or with the day of the visit."""

    why: Why
    alert: Alert | None = None
    due: VisitDue | None = None


@dataclass(frozen=True, slots=True)
class Stop:
    """One boat of the round.

    Attributes:
        vessel: her record, with the card for whoever goes to her.
        reasons: why, most pressing first; empty where nothing asks for a visit.
        checks: what to look at, most important first.
        left_out: how many checks the list had no room for.
        takings: what to read by hand.
        cautions: what not to forget, as codes.
        alerts: her open alerts, most pressing first.
    """

    vessel: Vessel
    reasons: tuple[Reason, ...]
    checks: tuple[Check, ...]
    left_out: int
    takings: tuple[Taking, ...]
    cautions: tuple[str, ...]
    alerts: tuple[Alert, ...]

    @property
    def all_checks(self) -> list[Check]:
        """All that can be looked at aboard, also what the list had no room for, or no cause."""
        return all_checks(self.vessel)

    @property
    def all_takings(self) -> list[Taking]:
        """All that can be read aboard, also what the list had no room for."""
        return takings_for(self.vessel)


@dataclass(frozen=True, slots=True)
class Round:
    """The boats in walking order, and how many less pressing ones it had no room for."""

    stops: tuple[Stop, ...]
    left_out: int = 0


def todays_round(
    boats: Iterable[VesselNow], last: Callable[[str], VisitReport | None], now_ms: int, zone: ZoneInfo
) -> Round:
    """Give the round.

    Args:
        boats: the vessels as they stand now.
        last: gives the last visit to a vessel that somebody wrote down.
        now_ms: event time now.
        zone: the yard's time zone.
    """
    asked = [
        (why, now) for now in boats if (why := _reasons(now, last(now.stored.vessel.id), now_ms, zone))
    ]  # what to look at aboard is made out for those alone that there is room for
    asked.sort(key=lambda pair: (_pressing(pair[0][0]), walking_key(pair[1].stored.vessel)))
    room = round(LIMITS["boats"])
    walked = sorted(asked[:room], key=lambda pair: walking_key(pair[1].stored.vessel))
    return Round(tuple(_stop(now, why) for why, now in walked), max(len(asked) - room, 0))


def stop_at(now: VesselNow, last: VisitReport | None, now_ms: int, zone: ZoneInfo) -> Stop:
    """Say why somebody should go aboard a vessel, and what to do there; the form is filled in for her at any time."""
    return _stop(now, _reasons(now, last, now_ms, zone))


def _reasons(now: VesselNow, last: VisitReport | None, now_ms: int, zone: ZoneInfo) -> list[Reason]:
    """Give why somebody should go aboard a vessel, most pressing first."""
    today = _day(now_ms, zone)
    reported = None if last is None else _day(last.at_ms, zone)
    return sorted([*_alerted(now.alerts), *_owed(now, reported, today, zone)], key=_pressing)


def _stop(now: VesselNow, reasons: list[Reason]) -> Stop:
    record = now.stored.vessel
    troubled = {a.subject for a in now.alerts} | {s.sensor for a in now.alerts for s in a.finding.rests_on}
    checks = checks_for(record, troubled)
    room = round(LIMITS["checks"])
    return Stop(
        vessel=record,
        reasons=tuple(reasons),
        checks=tuple(checks[:room]),
        left_out=max(len(checks) - room, 0),
        takings=tuple(takings_for(record, troubled)[: round(LIMITS["readings"])]),
        cautions=tuple(_cautions(record, now.alerts)),
        alerts=tuple(sorted(now.alerts, key=lambda a: (a.returned_ms is not None, *_harm(a)))),
    )


def _alerted(alerts: Iterable[Alert]) -> Iterator[Reason]:
    """Give the alerts that ask for a visit. That somebody was aboard ends none whose condition still stands."""
    for alert in alerts:
        if alert.state.is_aside or alert.rule == MAINTENANCE:
            continue
        if alert.returned_ms is not None:
            if alert.latching and alert.confirmed_ms is None:
                yield Reason(Why.UNCONFIRMED, alert)
            # else it has cleared: it wants somebody to say that they saw it, not to go aboard
        elif alert.rule == SILENCE and alert.priority is not Priority.ALARM:
            yield Reason(Why.SILENCE, alert)
        elif alert.priority is not Priority.CAUTION:
            yield Reason(Why.ALARM if alert.priority is Priority.ALARM else Why.WARNING, alert)


def _owed(now: VesselNow, reported: date | None, today: date, zone: ZoneInfo) -> Iterator[Reason]:
    """Give the visit that is owed: the maintenance rule says so, unless somebody has been aboard since."""
    owed = next((a for a in now.alerts if a.rule == MAINTENANCE and a.subject == VISIT), None)
    due = visit_due(now.stored.vessel, reported, today, zone)
    if owed is not None and owed.returned_ms is None and owed.finding.kind == AFTER_THAW:
        thawed = today - timedelta(days=owed.finding.figure.value or 0)
        if reported is None or reported < thawed:
            yield Reason(Why.THAW, owed, due)
            return
    if due is not None and due.on <= today:
        yield Reason(Why.OVERDUE if due.on < today else Why.DUE, owed, due)


def _pressing(reason: Reason) -> tuple[float, ...]:
    if reason.due is not None:
        return reason.why, reason.due.on.toordinal()
    return (reason.why,) if reason.alert is None else (reason.why, *_harm(reason.alert))


def _harm(alert: Alert) -> tuple[float, float, float]:
    harm = alert.finding.harm
    return -alert.priority, float("inf") if harm is None else harm.low_s, alert.opened_ms


def _cautions(record: Vessel, alerts: Iterable[Alert]) -> Iterator[str]:
    if is_afloat(record):
        yield "never_alone_afloat"
    if record.shore_power.on or any(a.rule == BILGE for a in alerts):
        yield "shore_power_first"
    yield "gas_smell"
    if stands_ashore(record):
        yield "ladder"


def _day(at_ms: int, zone: ZoneInfo) -> date:
    return datetime.fromtimestamp(at_ms / 1000, zone).date()
