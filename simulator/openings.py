"""Openings below the waterline: a seacock, a split hose, a log's hole. What they pass follows from the head on them."""

from dataclasses import dataclass
from math import pi, sqrt

GRAVITY = 9.81
# A sharp-edged opening passes 0.6 of what an ideal one would (textbook value of the discharge coefficient).
DISCHARGE = 0.6


@dataclass(slots=True, eq=False)
class Opening:
    """One opening in the hull. It lets water in and, as a hose end above the bilge does, none out.

    Attributes:
        area_m2: its area; 0 while it is shut.
        at_m: its height above the level sensor's zero.
        shifts: whether the water outside it moves with tide and trim; not where it lies on the axis she tilts about.
        entered_l: what has come in through it since the start.
        now_l_s: what comes in through it at the last head asked for.
    """

    area_m2: float
    at_m: float = 0.0
    shifts: bool = True
    entered_l: float = 0.0
    now_l_s: float = 0.0


def orifice_l_s(area_m2: float, head_m: float) -> float:
    """Give what an opening passes under a head of water, litres a second: ``Q = Cd A sqrt(2 g h)``, Cd 0.6.

    >>> round(orifice_l_s(bore_m2(25), 0.3) * 60)  # printed tables: 43 litres a minute
    43
    """
    return 1000 * DISCHARGE * area_m2 * sqrt(2 * GRAVITY * head_m) if head_m > 0 else 0.0


def bore_m2(bore_mm: float) -> float:
    """Give the area of a round opening."""
    return pi / 4 * (bore_mm / 1000) ** 2
