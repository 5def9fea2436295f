"""Names as people write them, made into the names of the settings: one person is one, whatever they typed."""

from collections.abc import Sequence
from dataclasses import replace
from typing import TypeVar

from monitor.model.inputs import AlertCommand, HandOver, VesselCommand
from monitor.model.people import YardPerson
from monitor.model.roster import Roster
from monitor.model.vessel import Person

SomebodysCommand = AlertCommand | VesselCommand
_Command = TypeVar("_Command", bound=SomebodysCommand)


class NamingError(ValueError):
    """A name that cannot be made out, in words.

    Attributes:
        key: which name it was: ``name`` of whoever does it, or ``to`` whom.
    """

    def __init__(self, key: str, reason: str) -> None:
        super().__init__(reason)
        self.key = key


def named(command: _Command, roster: Roster, owner: Person | None = None, *, signed_in: bool = False) -> _Command:
    """Give a command with everybody in it called as the settings have them.

    Whoever does it may be somebody the settings do not know, such as a contractor, and keeps the name they gave.

    Args:
        command: what somebody asks for.
        roster: the yard's people.
        owner: of the vessel it is about, None where her record names none.
        signed_in: whether whoever does it signed in: then their name is theirs, whatever the settings have.

    Raises:
        NamingError: where a name could be more than one, or nobody that it can be handed to.
    """
    actor = command.actor if signed_in else who(command.actor, roster, owner)
    if not isinstance(command, HandOver):
        return replace(command, actor=actor)
    to = to_whom(command.to, roster, owner)
    if to.casefold() == actor.casefold():
        reason = f"{actor} would hand it over to themselves: name somebody else, or take it on"
        raise NamingError("to", reason)
    return replace(command, actor=actor, to=to)


def who(written: str, roster: Roster, owner: Person | None = None) -> str:
    """Give the settings' name of whoever does something; who is nobody there keeps the name they wrote.

    The beginning of a word is not enough: a visitor may be called so.

    Raises:
        NamingError: where it could be more than one.
    """
    found = roster.meant(written, owner, beginnings=False)
    return _only(found, written, "name").name if found else " ".join(written.split())


def to_whom(written: str, roster: Roster, owner: Person | None = None) -> str:
    """Give the settings' name of whoever something is handed to; as it was written where the settings name nobody.

    Raises:
        NamingError: where it could be more than one, or is nobody.
    """
    found = roster.meant(written, owner)
    if found:
        return _only(found, written, "to").name
    known = can_be_handed_to(roster, owner)
    if known:
        names = ", ".join(person.name for person in known)
        raise NamingError("to", f"the settings know nobody called {' '.join(written.split())!r}: there is {names}")
    return " ".join(written.split())


def can_be_handed_to(roster: Roster, owner: Person | None = None) -> tuple[YardPerson, ...]:
    """Give everybody whom something can be handed to: the yard, and her owner; nobody where the settings name none."""
    yard = roster.everybody()
    if not yard or owner is None:
        return yard
    return tuple({person.name: person for person in (*yard, roster.owner(owner))}.values())


def is_stranger(name: str, roster: Roster, owner: Person | None = None) -> bool:
    """Say whether the settings name people, and this is none of them: a visitor, or a slip of the pen."""
    return bool(roster.everybody()) and not roster.meant(name, owner, beginnings=False)


def _only(found: Sequence[YardPerson], written: str, key: str) -> YardPerson:
    if len(found) == 1:
        return found[0]
    names = " or ".join(person.name for person in found)
    raise NamingError(key, f"{' '.join(written.split())!r} could be {names}: write more of the name")
