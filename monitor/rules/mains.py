"""What the mains sensor says of shore power, where there is one."""

from enum import Enum

from monitor.model.reading import Seen


class Mains(Enum):
    """Whether there is shore power."""

    THERE = "there"
    GONE = "gone"
    NOT_KNOWN = "not known"


def mains_of(seen: Seen | None) -> Mains:
    """Give the mains sensor's last word. A switch says when it moves, so its word does not age here.

    >>> mains_of(Seen("mains", 0, 0.0)), mains_of(None)
    (<Mains.GONE: 'gone'>, <Mains.NOT_KNOWN: 'not known'>)
    """
    if seen is None:
        return Mains.NOT_KNOWN
    return Mains.THERE if seen.value else Mains.GONE
