"""The contract of a rule: a fold over one vessel's believable readings that says what needs doing.

A rule is made for one version of a vessel's record and keeps its state apart from it, so that a new version of the
record goes on with what was seen. It asks no clock, does no I/O and draws no random number: the same readings and the
same times give the same findings. Its state is a slotted dataclass that pydantic can write as JSON, and it does not
grow with the winter.
"""

from abc import ABC, abstractmethod
from collections.abc import Sequence
from enum import Enum
from typing import ClassVar, Generic, TypeVar

from monitor.model.finding import Finding
from monitor.model.limits import Limit as Limit  # noqa: PLC0414 - a rule's table of limits is part of its contract
from monitor.model.limits import Limits as Limits  # noqa: PLC0414
from monitor.model.reading import Reading
from monitor.model.scale import Priority
from monitor.model.surroundings import Surroundings
from monitor.model.vessel import Vessel
from monitor.model.visit import VisitNote

S = TypeVar("S")

SECOND_MS = 1_000
MINUTE_MS = 60_000
HOUR_MS = 3_600_000
DAY_MS = 86_400_000


class Changes(Enum):
    """What a reading may change in what a rule says, until the time that the rule itself named for its next look.

    Most readings of a boat that is well change nothing, and judging costs more than seeing. A rule that says too little
    here misses a finding; one that says too much only costs time.
    """

    NOTHING = "nothing"
    WHAT_IS_SAID = "what is said"
    ANYTHING = "anything"


class Rule(ABC, Generic[S]):
    """What the watch asks of a rule.

    Attributes:
        name: the rule's word in keys, data and settings.
        version: rises when the meaning of the state or of the findings changes; older state is then folded again.
        state_type: the slotted dataclass it keeps; made with no arguments before anything was seen.
        hears_all: True where it is also given readings that failed their quality tests (the flag tells).
        hears_at_once: True where it is given a level before its flag has settled, and again when it has.
        limits: its table of limits.
        sensors: ids of the sensors it wants to be given.
        surroundings: what is known of the yard now: its working time, its power plan, the forecast. The watch sets it
            and judges the rule again when it changes.
    """

    name: ClassVar[str]
    version: ClassVar[int]
    state_type: type[S]
    hears_all: ClassVar[bool] = False
    hears_at_once: ClassVar[bool] = False
    limits: ClassVar[Limits]
    sensors: frozenset[str]
    surroundings: Surroundings

    def __init__(self, record: Vessel) -> None:
        self.record = record
        self.surroundings = Surroundings()

    @abstractmethod
    def see(self, state: S, reading: Reading) -> Changes | None:
        """Take a reading into the state. Event times may step back between sensors, never within one.

        A reading that is not news (it may be old) is only ever water, given to rules that hear all.

        Returns:
            What it may change: `Changes.NOTHING` where judging would say the same again, `Changes.WHAT_IS_SAID` where
            it would say nothing if it last said nothing, else `Changes.ANYTHING`, or None for the same.
        """

    def see_late(self, state: S, reading: Reading) -> None:
        """Take a reading that came after a newer one of its sensor: judge what happened unheard, and nothing else."""

    def deaf(self, state: S, from_ms: int, to_ms: int) -> None:
        """Learn that the agent itself heard nothing between these times."""

    def visited(self, state: S, at_ms: int, visit: VisitNote) -> None:
        """Learn that somebody was aboard at a time, and what they found."""

    @abstractmethod
    def judge(self, state: S, now_ms: int) -> list[Finding]:
        """Say what needs doing now: at most one finding a subject. It may note in the state what it now holds."""

    @abstractmethod
    def next_look(self, state: S, now_ms: int) -> int | None:
        """Give the earliest time after ``now_ms`` at which judging could answer otherwise with no new reading."""


def held_step(
    value: float, steps: Sequence[tuple[float, Priority]], held: Priority | None, deadband: float
) -> Priority | None:
    """Grade a falling value by steps, and keep the grade held until the value has risen a deadband past its step.

    Args:
        value: what is graded; the lower, the worse.
        steps: (limit, priority) pairs; a value below the limit has the priority.
        held: the grade given last.
        deadband: how far above its limit a held grade is kept, same unit, 0 or more.

    Returns:
        The highest priority that holds, None where none does.

    >>> steps = [(5.0, Priority.CAUTION), (0.0, Priority.WARNING)]
    >>> held_step(4.9, steps, None, 0.5).word, held_step(5.2, steps, Priority.CAUTION, 0.5).word
    ('caution', 'caution')
    >>> held_step(5.2, steps, None, 0.5) is None
    True
    """
    grades = [p for limit, p in steps if value < limit + (deadband if held is not None and p <= held else 0.0)]
    return max(grades, default=None)


def earliest(times: Sequence[int | None]) -> int | None:
    """Give the earliest of the times that are known."""
    return min((t for t in times if t is not None), default=None)
