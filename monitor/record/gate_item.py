"""One thing of the spring list: what it is, when it is due, why it is there, and how it was closed."""

from dataclasses import dataclass, field
from enum import IntEnum

from monitor.model.gate import SIGHTINGS, is_hull_opening


class Stage(IntEnum):
    """When a thing is due, in the order of the day."""

    LIFT = 0
    SLINGS = 1
    FIRST_START = 2
    FIRST_HOUR = 3
    NEXT_DAY = 4

    @property
    def code(self) -> str:
        """The stage as it is written in data."""
        return self.name.lower().replace("_", " ")


@dataclass(frozen=True, slots=True)
class Said:
    """Somebody said something of an item: who, when (ms UTC; None where only the record has it), and their note."""

    by: str
    at_ms: int | None
    note: str = ""


@dataclass(frozen=True, slots=True)
class GateItem:
    """One thing of the spring list.

    Attributes:
        id: stays the same while the thing does.
        what: what to do.
        stage: when it is due.
        why: what puts it here: a line of the record, an alert, or what is common practice.
        alert: the alert that put it here, empty where none did.
        since_ms: sightings before this do not count: it was opened then.
        done: who said that it is done, None where nobody did.
        override: who overrode it, with the reason as note; None where nobody did.
        sighted: who saw it closed with their own eyes, each once.
        history: all that was said of it, oldest first, as (act, said).
    """

    id: str
    what: str
    stage: Stage
    why: str
    alert: str = ""
    since_ms: int = 0
    done: Said | None = None
    override: Said | None = None
    sighted: tuple[Said, ...] = ()
    history: tuple[tuple[str, Said], ...] = field(default=(), compare=False)

    @property
    def is_hull(self) -> bool:
        """Whether it is an opening in the hull."""
        return is_hull_opening(self.id)

    @property
    def is_closed(self) -> bool:
        """Whether it is done; of an opening, whether enough different people saw it closed."""
        return len(self.sighted) >= SIGHTINGS if self.is_hull else self.done is not None

    @property
    def stands_open(self) -> bool:
        """Whether it still holds her up: neither closed nor overridden."""
        return not self.is_closed and (self.is_hull or self.override is None)
