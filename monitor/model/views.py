"""What a reader may ask of the journal, by need. Readers never block the writer and never write."""

from collections.abc import Collection, Iterator
from dataclasses import dataclass, field
from typing import Protocol

from monitor.model.alert import Alert, AlertEvent
from monitor.model.call import Call
from monitor.model.finding import Finding
from monitor.model.gate import GateWord
from monitor.model.inputs import Suppress, VisitReport
from monitor.model.notice import Notice
from monitor.model.scale import Flag, Priority
from monitor.model.surroundings import Forecast
from monitor.model.vessel import Vessel


@dataclass(frozen=True, slots=True)
class StoredRecord:
    """A version of a vessel's record, and who put it there when (ms UTC)."""

    vessel: Vessel
    version: int
    from_ms: int
    actor: str


@dataclass(frozen=True, slots=True)
class Newest:
    """The last reading of a sensor that counted as news.

    Attributes:
        event_ms: the time it is folded at.
        arrived_ms: when it came in.
        value: in the sensor's unit.
        flag: its quality.
    """

    event_ms: int
    arrived_ms: int
    value: float
    flag: Flag


@dataclass(frozen=True, slots=True)
class VesselNow:
    """One vessel as she stands now.

    Attributes:
        stored: her valid record.
        heard_ms: when anything was last heard from her, None where never.
        alerts: her open alerts.
        not_known: what rules cannot say for want of believable readings.
        unheard: places of her sensors that have never been heard.
        aboard: what was last said to be done aboard and not ended since; it may have run out, see its ``until_ms``.
    """

    stored: StoredRecord
    heard_ms: int | None
    alerts: list[Alert] = field(default_factory=list)
    not_known: list[Finding] = field(default_factory=list)
    unheard: tuple[str, ...] = ()
    aboard: Suppress | None = None


@dataclass(frozen=True, slots=True)
class Bucket:
    """The readings of a sensor in one step of time; where all of them failed there is no low, high and mean."""

    start_ms: int
    low: float | None
    high: float | None
    mean: float | None
    count: int
    worst: Flag


@dataclass(frozen=True, slots=True)
class Buckets:
    """A sensor's buckets over a span, oldest first; steps with no reading are left out."""

    step_ms: int
    buckets: list[Bucket]


@dataclass(frozen=True, slots=True)
class Said:
    """One thing a sensor said, or the hour that stands in where its raw readings were dropped.

    Attributes:
        stated_ms: the time the sensor stated; the begin of an hour.
        event_ms: the time it is folded at.
        arrived_ms: when it came in, None for an hour.
        value: in the sensor's unit; an hour's mean, None where nothing of it was believed.
        low: the lowest of the hour; a reading's own value.
        high: the highest.
        count: how many readings it stands for.
        flag: its quality; of an hour the worst.
        hour: whether it is an hour's mean.
        late: whether it was older than the sensor's newest when it came.
        clock_fault: whether its stated time was wrong.
        news: False where it may be old, though it carries no time.
    """

    stated_ms: int
    event_ms: int
    arrived_ms: int | None
    value: float | None
    low: float | None
    high: float | None
    count: int
    flag: Flag
    hour: bool = False
    late: bool = False
    clock_fault: bool = False
    news: bool = True


@dataclass(frozen=True, slots=True)
class EventMark:
    """Where an alert's event stands in the chain of all of them: its place, and the hash that covers the one before."""

    seq: int
    place: int
    hash: str


@dataclass(frozen=True, slots=True)
class RejectLine:
    """Messages of one topic that could not be used for one reason; times ms UTC, ``detail`` from the last one."""

    reason: str
    topic: str
    detail: str
    first_ms: int
    last_ms: int
    count: int


class YardView(Protocol):
    """What the yard page needs."""

    def vessels_now(self, ids: Collection[str] | None = None) -> list[VesselNow]:
        """Give all vessels as they stand now, or those of these ids, by id."""
        ...

    def last_seq(self) -> int:
        """Give the seq of the last input committed."""
        ...


@dataclass(frozen=True, slots=True)
class Place:
    """Where a boat stands or stood: a plot ashore or a berth afloat."""

    plot: str | None
    berth: str | None


class RecordView(Protocol):
    """What is known of a vessel's record."""

    def record(self, vessel: str) -> StoredRecord | None:
        """Give the valid version, None where there is no such vessel."""
        ...

    def versions(self, vessel: str) -> list[StoredRecord]:
        """Give every version, newest first. Each is parsed: ask for one vessel, never for a yard."""
        ...

    def first_ms(self, vessel: str) -> int | None:
        """Give since when a vessel has a record, None where she has none."""
        ...

    def places(self) -> frozenset[Place]:
        """Give every place at which any vessel's record ever had her."""
        ...

    def gate_words(self, vessel: str) -> list[GateWord]:
        """Give what was said at her launch gate, in every spring, oldest first."""
        ...

    def owned_by(self, email: str) -> frozenset[str]:
        """Give the ids of the vessels whose valid record names an owner of this address, in any case."""
        ...


class ReadingView(Protocol):
    """What sensors said."""

    def newest(self, vessel: str) -> dict[str, Newest]:
        """Give the last reading of each of a vessel's sensors, by sensor id."""
        ...

    def buckets(self, vessel: str, sensor: str, from_ms: int, to_ms: int, at_most: int) -> Buckets:
        """Sum a sensor's readings of a span up into at most so many buckets; its cost follows their number."""
        ...

    def said(self, vessel: str, sensor: str, from_ms: int | None, to_ms: int) -> Iterator[Said]:
        """Give all that a sensor said in a span of its stated time, oldest first, never many at a time in memory."""
        ...

    def raw_from_ms(self) -> int:
        """Give the event time after which every raw reading is there; -1 where none was dropped."""
        ...


class AlertView(Protocol):
    """Alerts, and what happened to them."""

    def alerts(self, *, open_only: bool, vessel: str | None = None, limit: int = 1_000) -> list[Alert]:
        """Give alerts, newest first: the open ones, or also those that ended."""
        ...

    def alerts_between(self, vessel: str, from_ms: int, to_ms: int, limit: int = 200) -> list[Alert]:
        """Give a vessel's alerts that were open at any time between, newest first."""
        ...

    def alert(self, alert: str) -> Alert | None:
        """Give an alert by its id."""
        ...

    def events(self, alert: str) -> list[AlertEvent]:
        """Give what happened to an alert, oldest first."""
        ...

    def marks(self, alert: str) -> list[EventMark]:
        """Give where each of its events stands in the chain of all, in the order of `events`."""
        ...

    def notices_of(self, alert: str) -> "list[NoticeLine]":
        """Give every notice that told of an alert, oldest first."""
        ...


@dataclass(frozen=True, slots=True)
class NoticeLine:
    """A notice and what has come of it; wall times ms UTC."""

    notice: Notice
    sent_ms: int | None
    given_up_ms: int | None
    tries: int
    next_ms: int
    error: str


STANDING_DAYS = 7.0


@dataclass(frozen=True, slots=True)
class AlertLoad:
    """How many alerts there were in a span, and which of them wear people out.

    Attributes:
        days: length of the span.
        opened: how many opened, by priority.
        standing: open for more than `STANDING_DAYS` and still there at the end of the span, oldest first.
        chattering: that came back three times or more within a day, most often first.
    """

    days: float
    opened: dict[Priority, int]
    standing: tuple[Alert, ...]
    chattering: tuple[tuple[Alert, int], ...]


class CallView(Protocol):
    """What people were told, and what has come of it."""

    def calls(self, *, open_only: bool, limit: int = 1_000) -> list[Call]:
        """Give calls, newest first."""
        ...

    def call(self, call: str) -> Call | None:
        """Give a call by its id."""
        ...

    def notice(self, notice: str) -> NoticeLine | None:
        """Give a notice by its id."""
        ...

    def notices(self, call: str) -> list[NoticeLine]:
        """Give the notices of a call, oldest first."""
        ...

    def undelivered(self, now_ms: int, limit: int = 200) -> list[NoticeLine]:
        """Give what was given up, and what has failed and still waits, newest first; wall time."""
        ...

    def link_used(self, notice: str) -> bool:
        """Say whether the link in a notice has been used."""
        ...

    def load(self, from_ms: int, to_ms: int) -> AlertLoad:
        """Measure the alerts of a span of event time."""
        ...


class VisitView(Protocol):
    """Visits, newest first."""

    def visits(self, vessel: str | None = None, limit: int = 200) -> list[VisitReport]:
        """Give the visits of a vessel, or of all."""
        ...


class IntakeView(Protocol):
    """What came in and could not be used, and how much came in."""

    def rejects(self) -> list[RejectLine]:
        """Give what was rejected, newest first."""
        ...

    def tally(self) -> dict[str, int]:
        """Give how often something worth counting happened, by name."""
        ...

    def stored(self) -> int:
        """Give how many readings the journal holds."""
        ...


class ForecastView(Protocol):
    """What is foretold for the yard."""

    def forecast(self) -> Forecast | None:
        """Give the forecast that came last, None where none has."""
        ...
