"""The tide at a berth, by its two largest constituents, and a berth that dries out at low water.

A boat afloat goes up and down with it and notices nothing. Where she takes the ground, the water falls away round her
and she leans: the water outside and what stands in her bilge shift.
"""

from dataclasses import dataclass
from math import cos, radians

# Speeds of the principal lunar and solar semi-diurnal constituents, degrees an hour (NOAA CO-OPS, harmonic
# constituents): periods of 12.4206 h and 12 h.
M2_DEG_H = 28.984104
S2_DEG_H = 30.0
HOUR_MS = 3_600_000


@dataclass(frozen=True, slots=True)
class Tide:
    """Height of the tide, ``mean + M2 cos(28.984 t - g) + S2 cos(30 t - g)``; springs and neaps come of the two.

    Attributes:
        mean_m: mean level above the berth's ground.
        m2_m: amplitude of the lunar constituent.
        s2_m: amplitude of the solar one.
        m2_lag_deg: by how much the lunar one is behind at time 0 (1 January 1970, UTC).
        s2_lag_deg: the same of the solar one.
    """

    mean_m: float
    m2_m: float
    s2_m: float
    m2_lag_deg: float = 0.0
    s2_lag_deg: float = 0.0

    def height_m(self, at_ms: int) -> float:
        """Give the height above the berth's ground at a time (ms UTC).

        >>> round(Tide(3.0, 2.0, 0.7).height_m(0), 3)  # both at their highest
        5.7
        """
        hours = at_ms / HOUR_MS
        lunar = cos(radians((M2_DEG_H * hours - self.m2_lag_deg) % 360))
        solar = cos(radians((S2_DEG_H * hours - self.s2_lag_deg) % 360))
        return self.mean_m + self.m2_m * lunar + self.s2_m * solar


@dataclass(frozen=True, slots=True)
class DryingBerth:
    """A berth where a boat takes the ground.

    Attributes:
        tide: the tide over its ground.
        floats_at_m: the depth in which she floats, her draught.
        leans_m: how much higher the water in her bilge then stands where its sensor is (negative: lower).
        leans_over_m: by how much the water must fall below her draught until she leans as far; invented.
    """

    tide: Tide
    floats_at_m: float
    leans_m: float = 0.0
    leans_over_m: float = 0.4

    def waterline_shift_m(self, at_ms: int) -> float:
        """Give by how much the water outside has fallen below where she floats: 0 while she does, negative aground."""
        return min(self.tide.height_m(at_ms) - self.floats_at_m, 0.0)

    def tilt_m(self, at_ms: int) -> float:
        """Give by how much higher the water in her bilge stands at its sensor."""
        return self.leans_m * min(-self.waterline_shift_m(at_ms) / self.leans_over_m, 1.0)
