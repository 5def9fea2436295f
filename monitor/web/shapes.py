"""What the API gives: its shapes, as OpenAPI describes them. Times are RFC 3339 in UTC."""

from datetime import UTC, datetime
from typing import Annotated, Self

from pydantic import BaseModel, Field

from monitor.model.alert import Alert, AlertEvent
from monitor.model.finding import Finding
from monitor.model.inputs import Suppress
from monitor.model.vessel import Vessel
from monitor.model.views import Buckets, RejectLine, StoredRecord
from monitor.web.lines import Line


def instant(at_ms: int) -> datetime:
    """Give an instant from ms UTC."""
    return datetime.fromtimestamp(at_ms / 1000, UTC)


def maybe(at_ms: int | None) -> datetime | None:
    """Give an instant, None where there is none."""
    return None if at_ms is None else instant(at_ms)


class AboardOut(BaseModel):
    """What is being done aboard."""

    reason: str
    by: str
    until: datetime
    note: str

    @classmethod
    def of(cls, aboard: Suppress) -> Self:
        """Give it as data."""
        return cls(reason=aboard.reason, by=aboard.actor, until=instant(aboard.until_ms), note=aboard.note)


class VesselOut(BaseModel):
    """A vessel as she stands now."""

    id: str
    name: str
    place: str
    mode: str
    state: str
    sentence: str
    seen_by: str | None
    heard: datetime | None
    open_alerts: int
    put_aside: Annotated[int, Field(description="how many of the open alerts are put aside")]
    aboard: AboardOut | None

    @classmethod
    def of(cls, line: Line, open_alerts: int) -> Self:
        """Give a line of the yard page as data."""
        return cls(
            id=line.vessel.id,
            name=line.vessel.name,
            place=line.vessel.place,
            mode=line.vessel.mode,
            state=line.rank.word,
            sentence=line.sentence,
            seen_by=line.seen_by or None,
            heard=maybe(line.heard_ms),
            open_alerts=open_alerts,
            put_aside=line.aside,
            aboard=None if line.aboard is None else AboardOut.of(line.aboard),
        )


class RecordOut(BaseModel):
    """A version of a vessel's lay-up record."""

    version: int
    valid_from: datetime
    actor: str
    vessel: Vessel

    @classmethod
    def of(cls, stored: StoredRecord) -> Self:
        """Give a stored record as data."""
        return cls(version=stored.version, valid_from=instant(stored.from_ms), actor=stored.actor, vessel=stored.vessel)


class EventOut(BaseModel):
    """Something that happened to an alert."""

    at: datetime
    change: str
    state: str
    priority: str
    actor: str
    note: str

    @classmethod
    def of(cls, event: AlertEvent) -> Self:
        """Give an event as data."""
        return cls(
            at=instant(event.at_ms),
            change=event.change,
            state=event.state,
            priority=event.priority.word,
            actor=event.actor,
            note=event.note,
        )


class AlertOut(BaseModel):
    """An alert: its state by its name in ISA-18.2, and the finding behind it."""

    id: str
    vessel: str
    rule: str
    subject: str
    state: str
    priority: str
    highest: str
    opened: datetime
    returned: datetime | None
    ended: datetime | None
    acknowledged: datetime | None
    acknowledged_by: str | None
    latching: Annotated[bool, Field(description="stays, once cleared, until somebody who was aboard confirms it")]
    confirmed: datetime | None
    confirmed_by: str | None
    has_it: str | None
    offered_to: str | None
    aside_by: str | None
    aside_why: str
    aside_until: datetime | None
    title: str
    finding: Finding

    @classmethod
    def of(cls, alert: Alert, title: str) -> Self:
        """Give an alert as data."""
        return cls(
            id=alert.id,
            vessel=alert.vessel,
            rule=alert.rule,
            subject=alert.subject,
            state=alert.state,
            priority=alert.priority.word,
            highest=alert.highest.word,
            opened=instant(alert.opened_ms),
            returned=maybe(alert.returned_ms),
            ended=maybe(alert.ended_ms),
            acknowledged=maybe(alert.acknowledged_ms),
            acknowledged_by=alert.acknowledged_by,
            latching=alert.latching,
            confirmed=maybe(alert.confirmed_ms),
            confirmed_by=alert.confirmed_by,
            has_it=alert.has_it,
            offered_to=alert.offered_to,
            aside_by=alert.aside_by,
            aside_why=alert.aside_why,
            aside_until=maybe(alert.aside_until_ms),
            title=title,
            finding=alert.finding,
        )


class AlertWithEvents(AlertOut):
    """An alert and everything that happened to it, oldest first."""

    events: list[EventOut]


class BucketOut(BaseModel):
    """The readings of one step of time; ``worst`` is the worst quality flag (QARTOD) among them."""

    start: datetime
    low: float | None
    high: float | None
    mean: float | None
    count: int
    worst: int


class ReadingsOut(BaseModel):
    """A sensor's readings over a span, summed up by steps; steps with none are left out."""

    vessel: str
    sensor: str
    quantity: str
    unit: str
    step_s: float
    buckets: list[BucketOut]

    @classmethod
    def of(cls, vessel: str, sensor: str, quantity: str, unit: str, found: Buckets) -> Self:
        """Give buckets as data."""
        buckets = [
            BucketOut(start=instant(b.start_ms), low=b.low, high=b.high, mean=b.mean, count=b.count, worst=b.worst)
            for b in found.buckets
        ]
        step_s = found.step_ms / 1000
        return cls(vessel=vessel, sensor=sensor, quantity=quantity, unit=unit, step_s=step_s, buckets=buckets)


class RejectOut(BaseModel):
    """Messages of one topic that could not be used for one reason."""

    reason: str
    topic: str
    detail: str
    first: datetime
    last: datetime
    count: int

    @classmethod
    def of(cls, line: RejectLine) -> Self:
        """Give a line of rejects as data."""
        first, last = instant(line.first_ms), instant(line.last_ms)
        return cls(reason=line.reason, topic=line.topic, detail=line.detail, first=first, last=last, count=line.count)
