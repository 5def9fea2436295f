"""The menu of every page: what a yard hand walks with first, the rest under *More*; only what whoever looks may see."""

from dataclasses import dataclass

from monitor.model.access import Grade, Known
from monitor.web.grades import LEAST


@dataclass(frozen=True, slots=True)
class Entry:
    """A page of the menu.

    Attributes:
        address: where it is.
        words: what it is called there.
        pages: the pages under which it is marked, by the name that each gives itself.
    """

    address: str
    words: str
    pages: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Menu:
    """What stands in the menu, and what waits under *More*."""

    first: tuple[Entry, ...]
    more: tuple[Entry, ...]

    def at(self, page: str) -> Entry | None:
        """Give what is marked under *More* on a page, None where nothing of it is."""
        return next((entry for entry in self.more if page in entry.pages), None)


_FIRST = (
    Entry("/", "Yard", ("yard",)),
    Entry("/round", "Round", ("round",)),
    Entry("/calls", "Told", ("calls", "call")),
)
_MORE = (
    Entry("/visits", "Visits", ("visits",)),
    Entry("/since", "What changed", ("since",)),
    Entry("/undelivered", "Messages not delivered", ("undelivered",)),
    Entry("/rejects", "Rejected messages", ("rejects",)),
    Entry("/load", "Alert load", ("load",)),
    Entry("/rules", "Rules and limits", ("rules",)),
    Entry("/coolant", "Coolant", ("coolant",)),
    Entry("/people", "Who may sign in", ("people",)),
    Entry("/settings", "Settings", ("settings",)),
)
FEW = 2
"""So many more pages stand beside the first ones: nobody opens a fold for them."""


def menu(known: Known, *, signs_in: bool) -> Menu:
    """Give the menu of whoever looks.

    Args:
        known: who that is.
        signs_in: whether there are accounts at all: without, nobody is let in or kept out.
    """
    first = tuple(entry for entry in _FIRST if is_for(known.grade, entry.address))
    more = tuple(e for e in _MORE if is_for(known.grade, e.address) and (signs_in or e.address != "/people"))
    return Menu(first + more, ()) if len(more) <= FEW else Menu(first, more)


def is_for(grade: Grade, address: str) -> bool:
    """Say whether there is a page of this address, and who has this grade may see it."""
    least = LEAST.get(("GET", address))
    return least is not None and grade.may(least)
