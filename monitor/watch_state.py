"""What the watch keeps of one vessel, and what folding one input brings about."""

from dataclasses import dataclass, field
from typing import Any

from monitor.alerting import Track
from monitor.model.alert import Alert, AlertEvent
from monitor.model.finding import Finding
from monitor.model.reading import Reading
from monitor.model.surroundings import Surroundings
from monitor.quality import SensorQuality


@dataclass(slots=True)
class Stumble:
    """A rule that failed on something it was given: an error of ours, in one line, and when it last happened."""

    at_ms: int
    what: str


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
