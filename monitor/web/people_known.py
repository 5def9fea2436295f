"""Whom the settings know, as forms offer them. A form is a macro that knows no page: the page's yard is held here."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field

from monitor.model.alert import Alert
from monitor.model.named import can_be_handed_to, is_stranger
from monitor.model.vessel import Person
from monitor.web.deps import Deps


@dataclass(frozen=True, slots=True)
class Known:
    """Somebody to choose.

    Attributes:
        name: as the settings have it.
        label: with what they are.
    """

    name: str
    label: str


@dataclass(frozen=True, slots=True)
class _Shown:
    """The yard of a page that is being made, and the owners looked up for it so far, by vessel."""

    deps: Deps
    signed: str = ""
    acts: bool = True
    owners: dict[str, Person | None] = field(default_factory=dict)

    def owner(self, vessel: str | None) -> Person | None:
        if vessel is None:
            return None
        if vessel not in self.owners:
            self.owners[vessel] = owner_of(self.deps, vessel)
        return self.owners[vessel]


_SHOWN: ContextVar[_Shown] = ContextVar("the yard whose page is being made")


@contextmanager
def forms_know(deps: Deps, signed: str, *, acts: bool) -> Iterator[None]:
    """Let the forms of a page that is being made know its yard.

    Args:
        deps: of the yard.
        signed: the name of whoever signed in, empty where they write it themselves.
        acts: whether whoever looks may act on alerts; an owner may only take on what is handed to them.
    """
    token = _SHOWN.set(_Shown(deps, signed, acts))
    try:
        yield
    finally:
        _SHOWN.reset(token)


def people_for(vessel: str | None = None) -> list[Known]:
    """Give who can be chosen in a form: the yard, and a vessel's owner; nobody where the settings name none."""
    shown = _SHOWN.get()
    owner = shown.owner(vessel)
    owning = None if owner is None else shown.deps.roster.owner(owner).name
    known = []
    for person in can_be_handed_to(shown.deps.roster, owner):
        parts = [role.value for role in person.roles] + (["owner"] if person.name == owning else [])
        known.append(Known(person.name, ", ".join([person.name, *parts])))
    return known


def signed_as() -> str:
    """Give the name of whoever signed in and looks at the page; empty where they write their name themselves."""
    return _SHOWN.get().signed


def is_offered_here(alert: Alert) -> bool:
    """Say whether an alert is handed to whoever signed in and looks at the page."""
    signed = _SHOWN.get().signed.casefold()
    return bool(signed) and (alert.offered_to or "").casefold() == signed


def may_act() -> bool:
    """Say whether whoever looks may act on alerts."""
    return _SHOWN.get().acts


def is_visitor(name: str, vessel: str | None = None) -> bool:
    """Say whether a name that was typed is none of the settings' people."""
    shown = _SHOWN.get()
    return bool(name) and is_stranger(name, shown.deps.roster, shown.owner(vessel))


def owner_of(deps: Deps, vessel: str) -> Person | None:
    """Give who owns a vessel, None where her record does not say."""
    stored = deps.records.record(vessel)
    return None if stored is None else stored.vessel.owner
