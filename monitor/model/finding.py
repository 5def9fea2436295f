"""A finding: what a rule says now about one vessel and one subject. Data only: `monitor.messages` finds the words."""

from dataclasses import dataclass, field

from monitor.model.reading import Seen
from monitor.model.scale import Priority, Sure


@dataclass(frozen=True, slots=True)
class Figure:
    """The figure that decides.

    Attributes:
        value: what it is now; None where it is not known.
        limit: the limit it is held against; None where there is none (a switch, silence of unknown cadence).
        unit: unit of both, as it is printed: ``degC``, ``K``, ``mm``, ``V``, ``%``, ``h``.
    """

    value: float | None
    limit: float | None
    unit: str


@dataclass(frozen=True, slots=True)
class TimeToHarm:
    """How long until damage if nobody acts, in seconds: a low and a high estimate. A high of None is open-ended."""

    low_s: float
    high_s: float | None


@dataclass(frozen=True, slots=True)
class Finding:
    """One rule's present word on one subject of one vessel.

    Attributes:
        rule: name of the rule, such as ``frost``.
        subject: id of a thing in the record: a liquid system, a bilge, a battery, a sensor, ``gateway``.
        kind: which of the rule's situations this is; chooses the words, such as ``margin`` or ``high``.
        priority: how soon somebody must act.
        figure: the figure that decides.
        harm: time to harm, None where it cannot be said.
        sure: how sure.
        causes: likely causes, most likely first, as codes that `monitor.messages` knows.
        first: what to do first, as codes.
        never: what not to do, as codes.
        rests_on: the readings it rests on.
        facts: further figures for the wording, by name; numbers in the unit their name ends in.
        on_delay_ms: how long it must hold before an alert opens at this priority.
        off_delay_ms: how long it must be gone before its alert returns.
        covers: keys (``rule/subject``) of findings that are this one's consequences: while this one's alert stands they
            open no alert of their own.
        latches: whether its alert stays, once it has cleared, until somebody who was aboard has confirmed it.
        always_told: whether it is told whoever is aboard and whatever is done there: water at a float or a high mark.
        over: whether what it says is over and only its off-delay is waited for: it words an alert that stands until
            then, and opens none.
    """

    rule: str
    subject: str
    kind: str
    priority: Priority
    figure: Figure
    harm: TimeToHarm | None
    sure: Sure
    causes: tuple[str, ...]
    first: tuple[str, ...]
    never: tuple[str, ...]
    rests_on: tuple[Seen, ...] = ()
    facts: dict[str, int | float | str | bool | None] = field(default_factory=dict)
    on_delay_ms: int = 0
    off_delay_ms: int = 0
    covers: tuple[str, ...] = ()
    latches: bool = False
    always_told: bool = False
    over: bool = False
