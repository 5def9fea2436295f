"""So many of what a viewer may see: what they may not see takes no place among them."""

from collections.abc import Callable, Sequence
from typing import TypeVar

FURTHER = 8
"""How much further to look where too few of what was found may be seen."""

ThingT = TypeVar("ThingT")


def seen(read: Callable[[int], Sequence[ThingT]], may_see: Callable[[ThingT], bool], limit: int) -> list[ThingT]:
    """Give the first so many that may be seen.

    Args:
        read: gives the first so many of all, always in the same order.
        may_see: says which may be seen.
        limit: how many are wanted.

    >>> seen(lambda most: list(range(100))[:most], lambda n: n % 7 == 0, 3)
    [0, 7, 14]
    """
    asked = limit
    while True:
        found = read(asked)
        visible = [thing for thing in found if may_see(thing)]
        if len(visible) >= limit or len(found) < asked:
            return visible[:limit]
        asked *= FURTHER
