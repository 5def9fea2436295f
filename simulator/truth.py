"""What truly happened in a simulated winter: when each cause began, when each harm began, and for how long."""

from dataclasses import dataclass, field
from enum import StrEnum

from monitor.model.scale import Priority


class HarmKind(StrEnum):
    """A harm that the watch is there to tell before it begins.

    A battery under three quarters is no harm yet, but makers' handbooks want it charged: below 12.4 V at rest, and kept
    above 75 % in frost.
    """

    FREEZES = "begins to freeze"
    FROZEN = "frozen solid"
    STARTER = "water at the starter motor"
    TERMINALS = "water at the battery terminals"
    SOLE = "water at the sole"
    WANTS_CHARGE = "battery under three quarters"
    HALF = "battery under half"
    NO_PUMP = "battery cannot run the pump a day"
    BATTERY_FROZEN = "battery frozen"
    MOULD = "mould on furnishings"
    NOT_HEARD = "not heard"


@dataclass(slots=True)
class Harm:
    """A harm that began.

    Attributes:
        kind: which.
        vessel: vessel id.
        subject: the thing in her record that it befell.
        at_ms: when it began, ms UTC.
        ended_ms: when it was over, None where it was not.
    """

    kind: HarmKind
    vessel: str
    subject: str
    at_ms: int
    ended_ms: int | None = None


@dataclass(frozen=True, slots=True)
class Explains:
    """Alerts that a cause explains: what it makes a rule say is true, up to a priority.

    Attributes:
        rule: the rule.
        subject: its subject, None for any of the vessel's.
        most: the highest priority that is right; a higher one cries wolf.
    """

    rule: str
    subject: str | None = None
    most: Priority = Priority.ALARM


@dataclass(frozen=True, slots=True)
class Cause:
    """Something that befell a vessel.

    Attributes:
        kind: its words in the winter's document, such as ``gland drip``.
        vessel: vessel id.
        subject: the thing in her record that it lies in.
        begins_ms: when it began, ms UTC.
        ends_ms: when it was put right, None where it was not.
        explains: the alerts that are right while it lasts, and until its traces are gone.
        traces_ms: how long after its end its traces may still be told of.
        facts: figures that the score sorts it by, such as ``litres_min``.
    """

    kind: str
    vessel: str
    subject: str
    begins_ms: int
    ends_ms: int | None = None
    explains: tuple[Explains, ...] = ()
    traces_ms: int = 7 * 86_400_000
    facts: dict[str, float | str | bool] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Mark:
    """A moment on the way from cause to harm that an alert's delay is measured from.

    Attributes:
        kind: ``float up``, ``20 mm risen``, ``humid`` or another that a row of the score asks for.
        vessel: vessel id.
        subject: the thing in her record.
        at_ms: when, ms UTC.
    """

    kind: str
    vessel: str
    subject: str
    at_ms: int


@dataclass(slots=True)
class TruthLog:
    """The truth of one winter, in the order in which it came about."""

    causes: list[Cause] = field(default_factory=list)
    harms: list[Harm] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)
