"""What is known when a message is written: its alerts as they stand now, in words, and who has them."""

from dataclasses import dataclass

from monitor.messages.letterhead import Letterhead
from monitor.messages.phrases import Common, common
from monitor.messages.plain import one_line
from monitor.messages.words import Words, newest_ms, priority_words, put_into_words
from monitor.model.alert import Alert
from monitor.model.call import Call
from monitor.model.notice import Notice
from monitor.model.outbox import Waiting
from monitor.model.scale import AlertState, Priority
from monitor.model.vessel import Vessel

LONGEST_NAME = 80


@dataclass(frozen=True, slots=True)
class Told:
    """One alert of a message."""

    alert: Alert
    vessel: Vessel
    words: Words

    @property
    def is_over(self) -> bool:
        """Whether its condition has cleared."""
        return self.alert.ended_ms is not None or self.alert.returned_ms is not None

    @property
    def is_aside(self) -> bool:
        """Whether somebody put it aside, and it has not ended."""
        return self.alert.ended_ms is None and self.alert.state.is_aside

    @property
    def stands(self) -> bool:
        """Whether its condition holds, and nobody has put it aside."""
        return not self.is_over and not self.is_aside

    @property
    def is_clearing(self) -> bool:
        """Whether its condition holds no more, and it clears once that has lasted."""
        return self.stands and self.alert.finding.over

    @property
    def waits(self) -> bool:
        """Whether it has cleared, and waits for somebody to go aboard."""
        return self.alert.ended_ms is None and self.alert.state is AlertState.LATCHED


class Desk:
    """A message's alerts as they stand now, and the words of its language.

    Args:
        waiting: what is to be told.
        head: what all messages of the yard share.
        strict: raise where words are missing, instead of falling back.

    Attributes:
        now_ms: the event time it is written as of.
        told: its alerts in its order.
    """

    def __init__(self, waiting: Waiting, head: Letterhead, *, strict: bool = False) -> None:
        self.notice: Notice = waiting.notice
        self.call: Call | None = waiting.call
        self.head = head
        self.language = waiting.notice.language or head.language
        self.words: Common = common(self.language)
        self.now_ms = max([waiting.notice.at_ms, *(newest_ms(alert) for alert, _ in waiting.alerts)])
        self.told = tuple(
            Told(a, v, put_into_words(a.finding, v, head.zone, self.now_ms, self.language, strict=strict))
            for a, v in waiting.alerts
        )
        self.standing = tuple(t for t in self.told if t.stands)

    @property
    def yard(self) -> str:
        """The yard's name."""
        return one_line(self.head.name, LONGEST_NAME)

    @property
    def is_over(self) -> bool:
        """Whether all of it has cleared."""
        return bool(self.told) and not self.standing and not any(t.is_aside for t in self.told)

    @property
    def is_clearing(self) -> bool:
        """Whether something stands, and all of that clears if it stays as it is."""
        return bool(self.standing) and all(t.is_clearing for t in self.standing)

    @property
    def worst(self) -> Told:
        """The alert that is told in full: of those that stand and do not clear, the first of the highest priority."""
        if self.standing:
            return max(self.standing, key=lambda t: (not t.is_clearing, t.alert.priority))
        return next((t for t in self.told if t.waits), self.told[0])

    @property
    def priority(self) -> Priority | None:
        """The highest priority that stands, None where nothing does."""
        return max((t.alert.priority for t in self.standing), default=None)

    def say(self, *keys: str, **names: object) -> str:
        """Render a sentence of the language by its path."""
        return self.words.template(*keys).render(names)

    def say_who(self, *keys: str, names: list[str], **more: object) -> str:
        """Render a sentence of somebody, or of several, by its path."""
        return self.say(*keys, who=self.listed(names), many=len(names) > 1, **more)

    def at(self, at_ms: int) -> str:
        """Write a time with its whole date."""
        return self.words.figures.date_clock(at_ms, self.head.zone)

    def clock(self, at_ms: int) -> str:
        """Write a time as short as it can be understood now."""
        return self.words.figures.clock(at_ms, self.now_ms, self.head.zone)

    def priority_words(self, priority: Priority) -> str:
        """Say how soon somebody must act."""
        return priority_words(priority, self.language)

    def counted(self, thing: str, count: int) -> str:
        """Write how many boats or things: ``1 boat``, ``12 boats``."""
        return self.say("fleet", f"{thing}_one" if count == 1 else f"{thing}_many", count=count)

    def boat(self, vessel: Vessel) -> dict[str, object]:
        """Give a boat's name and place, for a sentence."""
        return {"vessel": one_line(vessel.name, LONGEST_NAME), "place": one_line(vessel.place)}

    def holder(self, told: Told) -> str | None:
        """Give who has an alert, None where nobody has."""
        who = told.alert.has_it
        if who is None and self.call is not None and self.call.accepted_ms is not None:
            who = self.call.accepted_by
        return None if who is None else one_line(who, LONGEST_NAME)

    def holders(self) -> tuple[list[str], bool]:
        """Give who has what stands (where nothing does: any of it), and whether all of that is in somebody's hands."""
        having = [self.holder(t) for t in self.standing or self.told]
        return list(dict.fromkeys(who for who in having if who is not None)), None not in having

    def listed(self, names: list[str]) -> str:
        """Join names: ``Anna``, ``Anna and Per``, ``Anna, Per and Ilse``."""
        if len(names) == 1:
            return names[0]
        return self.say("who", "both", first=", ".join(names[:-1]), last=names[-1])

    @property
    def reader(self) -> str:
        """Who reads it."""
        return one_line(self.notice.person, LONGEST_NAME)

    def is_reader(self, name: str) -> bool:
        """Whether it goes to the person of that name."""
        return one_line(name, LONGEST_NAME) == self.reader

    def is_offered_to_reader(self, told: Told) -> bool:
        """Whether an alert has been handed to its reader, who has not accepted it yet."""
        offered, has_it = told.alert.offered_to, told.alert.has_it
        return offered is not None and offered != has_it and self.is_reader(offered)
