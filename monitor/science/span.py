"""A figure with the room left around it, for whatever sources or instruments do not settle."""

from typing import NamedTuple


class Span(NamedTuple):
    """A low, a best and a high estimate of one quantity, in the unit its giver names.

    Attributes:
        low: lowest value the sources and the instrument allow.
        best: the single figure to use where only one can be used.
        high: highest value they allow.
    """

    low: float
    best: float
    high: float
