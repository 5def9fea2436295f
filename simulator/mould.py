"""The truth of mould: the index that grows on soft furnishings against the coldest surface, and slowly dwindles again.

Hukka and Viitanen, *A mathematical model of mould growth on wooden material*, Wood Science and Technology 33 (1999),
with the classes of material of Ojanen, Viitanen et al. 2010. Index 1 is the first growth, seen only under a microscope;
3 is what an eye sees; 6 covers all. Relative humidity is that of the air right at the surface.
"""

from dataclasses import dataclass
from enum import StrEnum
from math import exp, log

DAY_S = 86_400.0
# Decline in unfavourable times, index a day: at first, and after a rest without change. The paper measured it on pine.
FIRST_DECLINE, FIRST_S = 0.032, 6 * 3_600.0
LATER_DECLINE, LATER_S = 0.016, 24 * 3_600.0


class Sensitivity(StrEnum):
    """How readily a material carries mould; cloth and foam are nearest to sensitive."""

    VERY_SENSITIVE = "very sensitive"
    SENSITIVE = "sensitive"
    MEDIUM_RESISTANT = "medium resistant"
    RESISTANT = "resistant"


@dataclass(frozen=True, slots=True)
class _Class:
    # Growth against pine sapwood's before and after the first growth, the terms of the highest index, and the
    # humidity below which nothing grows at any temperature, %.
    before: float
    after: float
    a: float
    b: float
    c: float
    least_rh: float


_CLASSES = {
    Sensitivity.VERY_SENSITIVE: _Class(1.0, 2.0, 1.0, 7.0, 2.0, 80.0),
    Sensitivity.SENSITIVE: _Class(0.578, 0.386, 0.3, 6.0, 1.0, 80.0),
    Sensitivity.MEDIUM_RESISTANT: _Class(0.072, 0.097, 0.0, 5.0, 1.5, 85.0),
    Sensitivity.RESISTANT: _Class(0.033, 0.014, 0.0, 3.0, 1.0, 85.0),
}


def critical_rh(degc: float, least_rh: float) -> float:
    """Give the relative humidity, %, below which nothing grows: ``100 - 3.13 T + 0.160 T^2 - 0.00267 T^3`` to 20 degC.

    >>> round(critical_rh(10.0, 80.0), 2)  # 100 - 31.3 + 16 - 2.67
    82.03
    """
    if degc <= 0:
        return 100.0
    if degc > 20:
        return least_rh
    return max(100 + degc * (-3.13 + degc * (0.160 - 0.00267 * degc)), least_rh)


class Mould:
    """The index of one surface, stepped through the winter by ten minutes or an hour.

    Attributes:
        index: the mould index, 0 to 6.
    """

    __slots__ = ("_class", "_dry_s", "index")

    def __init__(self, sensitivity: Sensitivity) -> None:
        self._class = _CLASSES[Sensitivity(sensitivity)]
        self._dry_s = 0.0
        self.index = 0.0

    def step(self, dt_s: float, surface_degc: float, surface_rh: float) -> None:
        """Go on by a step at the temperature and the relative humidity, %, of the air at the surface."""
        if surface_rh >= self._class.least_rh and 0 < surface_degc < 50:
            critical = critical_rh(surface_degc, self._class.least_rh)
            if surface_rh >= critical:
                self._dry_s = 0.0
                self.index += dt_s / DAY_S * self._growth(surface_degc, surface_rh, critical)
                return
        began, self._dry_s = self._dry_s, self._dry_s + dt_s
        if self.index > 0:
            first = min(self._dry_s, FIRST_S) - min(began, FIRST_S)
            later = max(self._dry_s, LATER_S) - max(began, LATER_S)
            self.index = max(self.index - (FIRST_DECLINE * first + LATER_DECLINE * later) / DAY_S, 0.0)

    def _growth(self, degc: float, rh: float, critical: float) -> float:
        # Index a day. Seven days a week: t_m, the time to the first growth on pine, is in weeks.
        kind = self._class
        over = (critical - rh) / (critical - 100) if critical < 100 else 1.0
        highest = kind.a + kind.b * over - kind.c * over * over
        slowing = 1 - exp(2.3 * (self.index - highest))
        if slowing <= 0:
            return 0.0
        weeks = exp(-0.68 * log(degc) - 13.9 * log(rh) + 66.02)
        return (kind.before if self.index < 1 else kind.after) * slowing / (7 * weeks)
