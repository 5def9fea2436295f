"""A float switch: it moves at its height, and stays where dirt or ice holds it."""

from dataclasses import dataclass
from math import ceil

MINUTE_S = 60


@dataclass(frozen=True, slots=True)
class FloatChange:
    """The float switch moved: seconds into the step, and whether it is up now."""

    after_s: float
    up: bool


class FloatSwitch:
    """One float switch.

    Attributes:
        up: whether it is up.
        fouled: up (True) or down (False) by what fouls it, whatever the water; None where it is free.
        iced: whether ice holds it where it is.
    """

    __slots__ = ("_at_m", "_before_m", "_slack_m", "fouled", "iced", "up")

    def __init__(self, at_m: float, slack_m: float, level_m: float) -> None:
        self._at_m, self._slack_m = at_m, slack_m
        self._before_m = level_m
        self.up = level_m >= at_m
        self.fouled: bool | None = None
        self.iced = False

    def moves(self, level_m: float, from_s: float, dt_s: float) -> FloatChange | None:
        """See the level go to where it is now over a time in the step, and say whether it moved.

        A level that passed its height did so on a straight line; a gateway sends a switch at the whole minute after.
        """
        before_m, self._before_m = self._before_m, level_m
        if self.iced:
            return None
        at_m = self._at_m - (self._slack_m if self.up else 0.0)
        up = level_m >= at_m if self.fouled is None else self.fouled
        if up == self.up:
            return None
        self.up = up
        passed = (before_m < at_m) == (level_m >= at_m) and level_m != before_m
        share = (at_m - before_m) / (level_m - before_m) if self.fouled is None and passed else 0.0
        after_s = max(ceil((from_s + share * dt_s) / MINUTE_S), 1) * MINUTE_S
        return FloatChange(min(after_s, from_s + dt_s), up)

    def bailed(self) -> bool:
        """See the water go at once, and say whether that brought it down."""
        self._before_m = 0.0
        if self.iced or self.fouled:
            return False
        fell, self.up = self.up, False
        return fell
