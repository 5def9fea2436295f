"""What the watch keeps of one vessel, and what folding one input brings about."""

from dataclasses import dataclass, field
from typing import Any

from monitor.alerting import Aside, Track
from monitor.model.alert import Alert, AlertEvent
from monitor.model.finding import Finding
from monitor.model.inputs import Aboard
from monitor.model.reading import Reading
from monitor.model.surroundings import Surroundings
from monitor.quality import SensorQuality


@dataclass(slots=True)
class Stumble:
    """A rule that failed on something it was given: an error of ours, in one line, and when it last happened."""

    at_ms: int
    what: str


@dataclass(slots=True)
class Suppression:
    """What is done aboard, by which her alerts are put aside.

    Attributes:
        reason: which of the designed reasons.
        by: who said so last.
        since_ms: event time it began; one that follows on another goes on from the first.
        until_ms: event time at which it ends by itself.
        note: what was said with it.
        levels_m: the level last believed in each bilge when it began, by bilge id, m.
    """

    reason: Aboard
    by: str
    since_ms: int
    until_ms: int
    note: str = ""
    levels_m: dict[str, float] = field(default_factory=dict)

    @property
    def aside(self) -> Aside:
        """What it says of every alert that is put aside by it."""
        return Aside(self.by, self.reason.value, self.until_ms, self.note)


@dataclass(slots=True)
class LevelBefore:
    """The level of a bilge before something was done aboard, kept until one heard after it has been held against it.

    Attributes:
        level_m: the level before, m.
        since_ms: event time it began.
        until_ms: event time it ended.
        found_m: the level found risen, m; None where none is.
        found_ms: event time at which that was found.
    """

    level_m: float
    since_ms: int
    until_ms: int
    found_m: float | None = None
    found_ms: int = 0


@dataclass(slots=True)
class WatchState:
    """Everything the watch knows of one vessel beside her record. Bounded: it does not grow with the winter.

    Attributes:
        now_ms: the highest time seen; it never falls.
        ticked_ms: the last whole minute whose tick has been made.
        newest: newest event time by sensor.
        quality: state of the quality tests by sensor.
        rules: state by rule name.
        due: when each rule is judged next, None where only a reading can change its answer.
        tracks: findings on their way to alerts, by rule and subject.
        unknown: what each rule cannot say, for the page.
        stumbles: the rules that failed lately, by name.
        surroundings: what is known of the yard.
        suppression: what is done aboard now, None where nothing.
        levels_before: what levels are still held against, by bilge.
    """

    now_ms: int
    ticked_ms: int
    newest: dict[str, int] = field(default_factory=dict)
    quality: dict[str, SensorQuality] = field(default_factory=dict)
    rules: dict[str, Any] = field(default_factory=dict)
    due: dict[str, int | None] = field(default_factory=dict)
    tracks: dict[str, dict[str, Track]] = field(default_factory=dict)
    unknown: dict[str, list[Finding]] = field(default_factory=dict)
    stumbles: dict[str, Stumble] = field(default_factory=dict)
    surroundings: Surroundings = field(default_factory=Surroundings)
    suppression: Suppression | None = None
    levels_before: dict[str, LevelBefore] = field(default_factory=dict)


@dataclass(slots=True)
class Outcome:
    """What folding one input brought about.

    Attributes:
        events: what happened to alerts, in order.
        alerts: the alerts that changed in anything, figures included, by id.
        settled: readings stored before whose flag has become final.
        unknown: whether what the rules cannot say has changed.
    """

    events: list[AlertEvent] = field(default_factory=list)
    alerts: dict[str, Alert] = field(default_factory=dict)
    settled: list[Reading] = field(default_factory=list)
    unknown: bool = False
