"""What happened in the yard since somebody last looked, as the journal has it."""

from collections.abc import Collection
from dataclasses import dataclass
from typing import Protocol

from monitor.model.alert import AlertEvent
from monitor.model.inputs import VisitReport


@dataclass(frozen=True, slots=True)
class Lay:
    """Where a vessel lay and how she stood; one of berth and plot may be missing."""

    berth: str | None
    plot: str | None
    mode: str

    @property
    def place(self) -> str:
        """Where that is, in words."""
        return f"berth {self.berth}" if self.berth else f"plot {self.plot}" if self.plot else "no place recorded"


@dataclass(frozen=True, slots=True)
class Move:
    """A version of a record by which a vessel came to the yard, or lies or stands otherwise than before.

    Attributes:
        seq: of the input that brought it.
        vessel: her id.
        name: what she is called.
        at_ms: from when on.
        actor: who put it down.
        before: how she lay before, None where she is new.
        now: how she lies by it.
    """

    seq: int
    vessel: str
    name: str
    at_ms: int
    actor: str
    before: Lay | None
    now: Lay


@dataclass(frozen=True, slots=True)
class Happened:
    """What happened after a seq, each newest first with its seq; ``is_all`` unless some was too much to read."""

    events: tuple[tuple[int, AlertEvent], ...] = ()
    visits: tuple[tuple[int, VisitReport], ...] = ()
    moves: tuple[Move, ...] = ()
    is_all: bool = True


class HappenedView(Protocol):
    """What happened, by the order in which it was committed."""

    def happened(self, after_seq: int, vessels: Collection[str] | None, limit: int) -> Happened:
        """Give what happened after a seq to these vessels, or to all: of each kind the newest so many."""
        ...

    def seq_before(self, at_ms: int) -> int:
        """Give the seq of the last clock before a time, 0 where there is none: what is older was committed by then."""
        ...

    def last_happened(self) -> int:
        """Give the seq of the newest of all that `happened` would give."""
        ...

    def last_sent(self) -> dict[str, int]:
        """Give when something was last sent by each channel (wall time), by the channel's name."""
        ...
