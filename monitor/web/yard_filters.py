"""Which boats of the yard page are asked for: by words, how they stand, where they lie, who has their alerts."""

from collections.abc import Iterable
from dataclasses import dataclass
from urllib.parse import urlencode

from monitor.web.lines import Line
from monitor.web.ranks import Rank

NOBODY, ME = "nobody", "me"
ASIDE = "put-aside"


@dataclass(frozen=True, slots=True)
class Choice:
    """Something to choose in a filter: what stands in the address, and in the list."""

    value: str
    words: str


@dataclass(frozen=True, slots=True)
class Choices:
    """What there is to choose in this yard."""

    areas: tuple[Choice, ...]
    people: tuple[Choice, ...]


@dataclass(frozen=True, slots=True)
class Selection:
    """Which lines are asked for; each part that is empty takes all.

    Attributes:
        words: all of them stand in the line, whatever their case.
        rank: how she stands.
        everything: whether a long list is wanted whole.
        aside: whether only boats with an alert put aside are wanted.
        area: a row ashore or a pontoon, as `lines.area_of` gives it.
        who: `NOBODY`, `ME` or a name: who has an alert of hers.
        me: the name of whoever looks, empty where they did not sign in.
    """

    words: str = ""
    rank: Rank | None = None
    everything: bool = False
    aside: bool = False
    area: str = ""
    who: str = ""
    me: str = ""

    @classmethod
    def asked(cls, words: str, state: str, area: str, who: str, me: str, *, everything: bool) -> "Selection":
        """Give what an address asks for; a state that there is not takes all."""
        rank = next((r for r in Rank if r.slug == state), None)
        return cls(words.strip(), rank, everything, state == ASIDE, area.strip(), who.strip(), me)

    def takes(self, line: Line) -> bool:
        """Say whether a line is asked for."""
        if self.rank is not None and line.rank is not self.rank:
            return False
        if self.aside and not line.aside:
            return False
        if self.area and line.area.casefold() != self.area.casefold():
            return False
        return self._is_theirs(line) and self._has_words(line)

    def _is_theirs(self, line: Line) -> bool:
        if not self.who:
            return True
        if self.who == NOBODY:
            return line.is_free
        name = (self.me if self.who == ME else self.who).casefold()
        return any(one.casefold() == name for one in line.having)

    def _has_words(self, line: Line) -> bool:
        if not self.words:
            return True
        v = line.vessel
        owner = "" if v.owner is None else v.owner.name
        text = f"{v.name} {v.id} {v.place} {v.mode} {owner} {line.sentence} {line.rank.word}".casefold()
        return all(word in text for word in self.words.casefold().split())

    @property
    def is_all(self) -> bool:
        """Whether every boat is asked for."""
        return self.rank is None and not (self.aside or self.words or self.area or self.who)

    @property
    def state(self) -> str:
        """How the address names how she stands, empty where that is not asked for."""
        return ASIDE if self.aside else "" if self.rank is None else self.rank.slug

    def address(self, state: str | None = None, *, everything: bool = False) -> str:
        """Give the address of the same boats, or of those of them that stand otherwise."""
        asked = {
            "q": self.words,
            "state": self.state if state is None else state,
            "area": self.area,
            "who": self.who,
            "all": "true" if everything else "",
        }
        told = urlencode({key: value for key, value in asked.items() if value})
        return f"/?{told}" if told else "/"

    @property
    def narrowed(self) -> tuple[str, ...]:
        """Say what it is narrowed to, a few words each."""
        said = [f"“{self.words}”" if self.words else ""]
        said.append("with an alert put aside" if self.aside else "" if self.rank is None else self.rank.word)
        said.append(area_words(self.area))
        said.append(_who_words(self))
        return tuple(words for words in said if words)


def choices(lines: Iterable[Line], me: str) -> Choices:
    """Give what there is to choose, as the boats lie and as their alerts are in somebody's hands now."""
    areas, people = set[str](), set[str]()
    for line in lines:
        areas.add(line.area)
        people.update(line.having)
    who = [Choice(NOBODY, "Nobody has it")]
    if me:
        who.append(Choice(ME, f"I have it ({me})"))
    who += [Choice(name, name) for name in sorted(people, key=str.casefold) if name.casefold() != me.casefold()]
    rows = [Choice(area, area_words(area)) for area in sorted(areas - {""}, key=_by_kind)]
    return Choices(tuple(rows), tuple(who))


def area_words(area: str) -> str:
    """Say where that is.

    >>> area_words("row-A"), area_words("pontoon-North")
    ('Row A', 'Pontoon North')
    """
    kind, _, name = area.partition("-")
    return f"{kind.capitalize()} {name}".strip()


def _by_kind(area: str) -> tuple[bool, str]:
    return not area.startswith("row-"), area.casefold()


def _who_words(chosen: Selection) -> str:
    if chosen.who == NOBODY:
        return "nobody has it"
    if chosen.who == ME:
        return f"{chosen.me} has it" if chosen.me else "what you have (sign in, so that it is known)"
    return f"{chosen.who} has it" if chosen.who else ""
