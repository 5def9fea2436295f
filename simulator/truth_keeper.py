"""Keeps one boat's truth: looks at her after each step, and notes when harm begins and ends."""

from dataclasses import dataclass, field

from simulator.truth import Cause, Harm, HarmKind, Mark, TruthLog


@dataclass(slots=True)
class TruthKeeper:
    """What is true of one boat, noted in a log that may be shared by many.

    Attributes:
        vessel: vessel id.
        log: where it is noted.
        undried: spaces whose dehumidifier has stopped, until the air has grown humid.
    """

    vessel: str
    log: TruthLog = field(default_factory=TruthLog)
    undried: set[str] = field(default_factory=set)
    _open: dict[tuple[HarmKind, str], Harm] = field(default_factory=dict)

    def note_cause(self, cause: Cause) -> None:
        """Note that a cause has begun."""
        self.log.causes.append(cause)

    def dry_no_more(self, space: str) -> None:
        """Note that nothing dries a space any more, to mark when that begins to show."""
        self.undried.add(space)

    def harm(self, kind: HarmKind, subject: str, at_ms: int, *, begins: bool, ends: bool) -> None:
        """Note that a harm begins, or that one under way ends."""
        key = (kind, subject)
        known = self._open.get(key)
        if known is None:
            if begins:
                self._open[key] = harm = Harm(kind, self.vessel, subject, at_ms)
                self.log.harms.append(harm)
        elif ends:
            known.ended_ms = at_ms
            del self._open[key]

    def mark(self, kind: str, subject: str, at_ms: int) -> None:
        """Note a moment on the way to a harm."""
        self.log.marks.append(Mark(kind, self.vessel, subject, at_ms))
