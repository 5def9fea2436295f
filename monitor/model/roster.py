"""Who has the duty when, and how everybody is reached: the people, the rota and the yard's simple list, as one."""

import unicodedata
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Self
from zoneinfo import ZoneInfo

from monitor.model.people import Channel, ChannelKind, Duty, Role, Rota, YardPerson
from monitor.model.vessel import Person

OWNER_ID = "owner"
SIMPLE_ID = "duty"


@dataclass(frozen=True, slots=True)
class Roster:
    """Everybody who may be told.

    Attributes:
        people: the yard's people.
        rota: who has the duty in which week.
        always: who is told first where the rota names nobody, in order.
        zone: the yard's time zone (IANA), by which weeks change.
    """

    people: tuple[YardPerson, ...] = ()
    rota: Rota = field(default_factory=Rota)
    always: tuple[YardPerson, ...] = ()
    zone: str = "UTC"

    @classmethod
    def of(cls, people: Sequence[YardPerson], rota: Rota, duty: Sequence[Person], zone: str) -> Self:
        """Make it of the settings: who of the simple list is one of the people is that one."""
        alone = cls(tuple(people))
        always = tuple(
            alone._by_email(told.email)
            or YardPerson(id=f"{SIMPLE_ID}-{number}", name=told.name, email=told.email, roles=(Role.DUTY,))
            for number, told in enumerate(duty, 1)
        )
        return cls(tuple(people), rota, always, zone)

    def first(self, at_ms: int) -> tuple[YardPerson, ...]:
        """Give who is told first at a time."""
        return self._named(self._week(at_ms).first or self.rota.usual.first) or self.always

    def second(self, at_ms: int) -> tuple[YardPerson, ...]:
        """Give who is told second at a time."""
        return self._named(self._week(at_ms).second or self.rota.usual.second)

    def manager(self, at_ms: int) -> tuple[YardPerson, ...]:
        """Give who is told last at a time: whom the rota names, else every manager."""
        named = self._named(self._week(at_ms).manager or self.rota.usual.manager)
        return named or tuple(person for person in self.people if Role.MANAGER in person.roles)

    def next_to_tell(self, at_ms: int) -> tuple[YardPerson, ...]:
        """Give who is told before all others: whoever is first, where nobody is the second, else the managers."""
        return self.first(at_ms) or self.second(at_ms) or self.manager(at_ms)

    def person(self, name_or_id: str) -> YardPerson | None:
        """Find somebody of the yard by id, name or the beginning of either; None for nobody, or for more than one."""
        found = self.meant(name_or_id)
        return found[0] if len(found) == 1 else None

    def whole(self, name_or_id: str) -> YardPerson | None:
        """Find somebody of the yard by their whole name or their id, in any case; None for nobody."""
        words = _words(name_or_id)
        ids = (person for person in self.everybody() if [person.id.casefold()] == words)
        return next(ids, None) or next((p for p in self.everybody() if _words(p.name) == words), None)

    def meant(self, written: str, owner: Person | None = None, *, beginnings: bool = True) -> tuple[YardPerson, ...]:
        """Give everybody whom a name or an id could mean, in any case, however its blanks stand.

        An id or a whole name means that one; else whole words of a name, such as the first; else how words of it begin.

        Args:
            written: what somebody wrote.
            owner: the owner of the vessel it is about, who may be meant too.
            beginnings: whether the beginnings of words are enough.
        """
        words = _words(written)
        if not words:
            return ()
        everybody = [(person, _words(person.name)) for person in self.everybody()]
        ids = [person for person, _ in everybody if [person.id.casefold()] == words]
        if owner is not None:
            everybody.append((self.owner(owner), _words(owner.name)))
        ways = (list.__eq__, _has_words, *((_has_beginnings,) if beginnings else ()))
        found = next((hits for way in ways if (hits := [p for p, name in everybody if way(name, words)])), [])
        # Whoever is in both lists, or owns her and is one of the yard, is one.
        return tuple({person.name: person for person in ids or found}.values())

    def everybody(self) -> tuple[YardPerson, ...]:
        """Give everybody of the yard, each once."""
        return tuple({person.id: person for person in (*self.people, *self.always)}.values())

    def is_manager(self, name_or_id: str) -> bool:
        """Whether somebody of this whole name or id may take an alert out of service."""
        person = self.whole(name_or_id)
        return person is not None and Role.MANAGER in person.roles

    def owner(self, owner: Person) -> YardPerson:
        """Give the person who an owner of a record is: the one of the same e-mail address, else one made of it."""
        return self._by_email(owner.email) or YardPerson(id=OWNER_ID, name=owner.name, email=owner.email)

    def _by_email(self, email: str | None) -> YardPerson | None:
        if email is None:
            return None
        return next((p for p in self.people if p.email is not None and p.email.casefold() == email.casefold()), None)

    def _named(self, ids: Sequence[str]) -> tuple[YardPerson, ...]:
        by_id = {person.id: person for person in self.people}
        return tuple(by_id[one] for one in ids if one in by_id)

    def _week(self, at_ms: int) -> Duty:
        return self.rota.weeks.get(duty_week(at_ms, self.rota, self.zone), Duty())


def _words(text: str) -> list[str]:
    # A phone and a settings file may write the same letter with its accent in it or behind it.
    return unicodedata.normalize("NFKC", text).casefold().replace(".", " ").split()


def _has_words(name: list[str], words: list[str]) -> bool:
    return _in_order(name, words, str.__eq__)


def _has_beginnings(name: list[str], words: list[str]) -> bool:
    return _in_order(name, words, str.startswith)


def _in_order(name: list[str], words: list[str], fits: Callable[[str, str], bool]) -> bool:
    """Say whether words fit some of a name's, in its order."""
    left = iter(name)
    return all(any(fits(part, word) for part in left) for word in words)


def duty_week(at_ms: int, rota: Rota, zone: str) -> str:
    """Give the week of duty (ISO 8601) that a time (ms UTC) lies in: it begins on Monday at ``changes_at``, yard time.

    >>> from datetime import time
    >>> duty_week(1_700_463_599_000, Rota(changes_at=time(8)), "Europe/Oslo")  # Monday 07:59:59 there
    '2023-W46'
    >>> duty_week(1_700_463_600_000, Rota(changes_at=time(8)), "Europe/Oslo")
    '2023-W47'
    """
    # By the clock on the wall: without its zone an hour of summer time more or less shifts nothing.
    local = datetime.fromtimestamp(at_ms / 1000, ZoneInfo(zone)).replace(tzinfo=None)
    changes = rota.changes_at
    since = timedelta(hours=changes.hour, minutes=changes.minute, seconds=changes.second)
    year, week, _ = (local - since).isocalendar()
    return f"{year}-W{week:02d}"


def channels(person: YardPerson) -> Iterator[Channel]:
    """Give how somebody is reached, in order: by e-mail first, then by their channels; each address once."""
    named = [Channel(kind=ChannelKind.EMAIL, address=person.email)] if person.email is not None else []
    seen = set()
    for channel in (*named, *person.channels):
        key = address_key(channel.kind, channel.address)
        if key not in seen:
            seen.add(key)
            yield channel


def address_key(kind: str, address: str) -> str:
    """Give what two ways of writing the same address have in common: for e-mail, whatever their case."""
    return f"{kind} {address.casefold() if kind == ChannelKind.EMAIL else address}"


def roster_mistakes(people: Sequence[YardPerson], rota: Rota, duty: Sequence[Person]) -> Iterator[tuple[str, str]]:
    """Give what is wrong with people, rota and the simple list taken together: key of the settings, and reason."""
    for what, named in (("id", [p.id for p in people]), ("name", [p.name.casefold() for p in people])):
        for number, one in enumerate(named):
            if one in named[:number]:
                yield f"people.{number}.{what}", f"{one!r} is the {what} of two people; each needs their own"
    emails = [(p.email or "").casefold() for p in people]
    for number, email in enumerate(emails):
        if email and email in emails[:number]:
            yield f"people.{number}.email", f"{email!r} is the address of two people; an owner could be either"
    by_id = {person.id: person for person in people}
    for where, duty_of in (("rota.usual", rota.usual), *((f"rota.weeks.{w}", d) for w, d in rota.weeks.items())):
        yield from _duty_mistakes(where, duty_of, by_id)
    for week in rota.weeks:
        if not _is_week(week):
            yield f"rota.weeks.{week}", "there is no such week: that year has 52"
    if duty and all(person.email is None for person in duty):
        yield "yard.duty", "nobody in it can be reached: give one of them an e-mail address"


def _duty_mistakes(where: str, duty: Duty, by_id: dict[str, YardPerson]) -> Iterator[tuple[str, str]]:
    for rung, ids in (("first", duty.first), ("second", duty.second), ("manager", duty.manager)):
        unknown = [one for one in ids if one not in by_id]
        yield from ((f"{where}.{rung}", f"{one!r} is the id of nobody in people") for one in unknown)
        if not ids or unknown:
            continue
        ways = [channel for one in ids for channel in channels(by_id[one])]
        if not ways:
            yield f"{where}.{rung}", "nobody in it can be reached: give one of them an e-mail address or a channel"
        elif rung == "first" and all(channel.rings for channel in ways):
            yield f"{where}.{rung}", "all their channels ring, and warnings do not: give one of them an e-mail address"


def _is_week(week: str) -> bool:
    try:
        date.fromisocalendar(int(week[:4]), int(week[6:]), 1)
    except ValueError:
        return False
    return True
