"""A rule watched as the agent watches it: sensors' values in by the hour, alerts out."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from boats import HOUR, LAID_UP_MS
from pydantic import TypeAdapter

from monitor.model.alert import AlertChange, AlertEvent
from monitor.model.finding import Finding
from monitor.model.inputs import Clock, RecordVersion
from monitor.model.reading import Reading
from monitor.model.scale import Priority
from monitor.model.vessel import Vessel
from monitor.rules.rule import Rule
from monitor.watch import Watch

At = Callable[[float], float | None]
"""A sensor's value by the hour since lay-up; None is silence."""

MARKS = {None: ".", Priority.CAUTION: "c", Priority.WARNING: "w", Priority.ALARM: "A"}


@dataclass
class Aboard:
    """One boat under one rule."""

    record: Vessel
    rule: type[Rule[Any]]
    hour: float = 0.0
    events: list[AlertEvent] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.watch = Watch(self.record, LAID_UP_MS, (self.rule,))

    @property
    def now_ms(self) -> int:
        return LAID_UP_MS + round(self.hour * HOUR)

    @property
    def state(self) -> Any:
        return self.watch.state.rules[self.rule.name]

    def live(self, hours: float, sensors: Mapping[str, At], every_h: float = 1.0) -> "Aboard":
        """Go on for so many hours; sensors speak one after the other at each step."""
        until = self.hour + hours
        while self.hour + every_h <= until + 1e-9:
            self.hour += every_h
            at = self.now_ms
            self.events += self.watch.fold(Clock(at)).events
            for sensor, value_at in sensors.items():
                value = value_at(self.hour)
                if value is not None:
                    self.events += self.watch.fold(Reading(self.record.id, sensor, at, at, at, value)).events
        return self

    def becomes(self, **changes: Any) -> None:
        """Have another version of her record."""
        self.record = self.record.model_copy(update=changes)
        self.events += self.watch.fold(RecordVersion(self.record, self.now_ms, "test")).events

    def findings(self) -> dict[str, Finding]:
        """What the rule says now, by subject."""
        rule = next(iter(self.watch.rules))
        return {f.subject: f for f in rule.judge(self.state, self.now_ms)}

    def opened_h(self, at_least: Priority = Priority.WARNING) -> list[float]:
        """Hours since lay-up at which an alert opened, or rose, to this priority or above."""
        rose = {AlertChange.OPENED, AlertChange.PRIORITY, AlertChange.REOPENED}
        return [(e.at_ms - LAID_UP_MS) / HOUR for e in self.events if e.change in rose and e.priority >= at_least]

    def timeline(self, subject: str, hours: Sequence[float]) -> str:
        """One mark an hour of what stood in the alert: ``.`` none, ``c`` caution, ``w`` warning, ``A`` alarm."""
        ids: dict[str, None] = {}
        for alert in self.watch.open_alerts():
            if alert.subject == subject:
                ids[alert.id] = None
        line = ""
        for hour in hours:
            standing: Priority | None = None
            for event in self.events:
                if (event.at_ms - LAID_UP_MS) / HOUR <= hour and event.alert in ids:
                    over = event.change in {AlertChange.RETURNED, AlertChange.ENDED}
                    standing = None if over else event.priority
            line += MARKS[standing]
        return line


def round_trips(state: Any, state_type: type) -> bool:
    """Whether a state comes back from JSON as it was."""
    adapter: TypeAdapter[Any] = TypeAdapter(state_type)
    return bool(adapter.validate_json(adapter.dump_json(state)) == state)


def json_bytes(state: Any, state_type: type) -> int:
    """How large a state is when written."""
    return len(TypeAdapter(state_type).dump_json(state))
