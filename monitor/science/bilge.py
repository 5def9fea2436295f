"""Water in the bilge: how much stands there, how fast it comes in, what explains it, and when it reaches something."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import inf, isfinite, pi, sqrt
from typing import NamedTuple

from monitor.science.domain import within
from monitor.science.interpolation import interpolate

GRAVITY_M_PER_S2 = 9.80665
"""Standard gravity, m/s2 (ISO 80000-3)."""

_L_PER_MIN = 60_000.0  # 1 m3/s


@dataclass(frozen=True, slots=True)
class DipTable:
    """How much water stands in a bilge at a level, measured by pouring and dipping, as she sits now.

    Attributes:
        levels_m: levels above the sensor's zero, m, strictly rising.
        volumes_l: litres at those levels, strictly rising, none below 0.

    Raises:
        ValueError: naming the row, where the table cannot be read both ways.
    """

    levels_m: tuple[float, ...]
    volumes_l: tuple[float, ...]

    def __post_init__(self) -> None:
        """Refuse a table that could not be read both ways."""
        if len(self.levels_m) != len(self.volumes_l):
            raise ValueError(f"the dip table has {len(self.levels_m)} levels and {len(self.volumes_l)} volumes")
        if len(self.levels_m) < 2:
            raise ValueError("the dip table needs two rows or more")
        rows = list(zip(self.levels_m, self.volumes_l, strict=True))
        for number, (level_m, volume_l) in enumerate(rows, 1):
            if not (isfinite(level_m) and isfinite(volume_l)):
                raise ValueError(f"row {number} of the dip table is {level_m} m, {volume_l} L: not a number")
        if self.volumes_l[0] < 0.0:
            raise ValueError(f"row 1 of the dip table holds {self.volumes_l[0]:.6g} L, which is below 0")
        for number, ((m0, l0), (m1, l1)) in enumerate(pairwise(rows), 2):
            if m1 <= m0 or l1 <= l0:
                raise ValueError(
                    f"row {number} of the dip table ({m1:.6g} m, {l1:.6g} L) does not rise above the row before it "
                    f"({m0:.6g} m, {l0:.6g} L)"
                )

    @classmethod
    def from_rows(cls, rows: Iterable[Sequence[float]]) -> "DipTable":
        """Build the table from (m, L) pairs.

        >>> DipTable.from_rows([(0.0, 0.0), (0.1, 12.0)]).volumes_l
        (0.0, 12.0)
        """
        pairs = list(rows)
        return cls(tuple(row[0] for row in pairs), tuple(row[1] for row in pairs))


def volume_l(table: DipTable, level_m: float) -> float:
    """Find how much water stands in the bilge at a level.

    Args:
        table: the bilge's dip table.
        level_m: level above the sensor's zero, m, within the table.

    Returns:
        Litres, by straight lines between the rows, which rise with the level and turn back exactly.

    Raises:
        ValueError: outside the table: it says nothing there.

    >>> round(volume_l(DipTable((0.0, 0.05, 0.10), (0.0, 4.0, 12.0)), 0.075), 6)
    8.0
    """
    within("level", level_m, table.levels_m[0], table.levels_m[-1], "m")
    return interpolate(level_m, table.levels_m, table.volumes_l)


def level_m(table: DipTable, volume_l: float) -> float:
    """Find the level at which an amount of water stands, the inverse of `volume_l`.

    Args:
        table: the bilge's dip table.
        volume_l: litres, within the table.

    Returns:
        Level above the sensor's zero, m.

    Raises:
        ValueError: outside the table.

    >>> round(level_m(DipTable((0.0, 0.05, 0.10), (0.0, 4.0, 12.0)), 8.0), 6)
    0.075
    """
    within("volume", volume_l, table.volumes_l[0], table.volumes_l[-1], "L")
    return interpolate(volume_l, table.volumes_l, table.levels_m)


def inflow_l_per_h(earlier_l: float, later_l: float, hours: float) -> float:
    """Find how fast water came in between two dips with no pump running.

    Args:
        earlier_l: litres then, 0 or more.
        later_l: litres now, 0 or more.
        hours: time between, h, above 0.

    Returns:
        L/h; negative where the water fell.

    Raises:
        ValueError: outside those ranges.

    Equation: (V2 - V1) / dt.

    >>> inflow_l_per_h(4.0, 10.0, 3.0)
    2.0
    """
    within("earlier volume", earlier_l, 0.0, inf, "L")
    within("later volume", later_l, 0.0, inf, "L")
    within("time between", hours, 1.0 / 3600.0, inf, "h")
    return (later_l - earlier_l) / hours


class Reach(NamedTuple):
    """What rising water comes to first, and when; hours are infinite where it does not rise."""

    name: str
    height_m: float
    hours: float


def first_reached(
    table: DipTable, level_now_m: float, inflow_l_per_h: float, heights_m: Iterable[tuple[str, float]]
) -> Reach | None:
    """Find which named height the water comes to first at a steady inflow, and how long that takes.

    Args:
        table: the bilge's dip table.
        level_now_m: level now, m, within the table.
        inflow_l_per_h: net inflow, L/h; 0 or less never arrives.
        heights_m: names and heights above the sensor's zero, m, each within the table.

    Returns:
        The lowest height and the hours to it, 0 where it is under water already; None where no height is named.

    Raises:
        ValueError: a level or height outside the table.

    Equation: t = (V(h) - V(level)) / Q.

    >>> bilge = DipTable((0.0, 0.05, 0.10), (0.0, 4.0, 12.0))
    >>> first_reached(bilge, 0.0, 2.0, [("sole", 0.10), ("starter", 0.05)])
    Reach(name='starter', height_m=0.05, hours=2.0)
    """
    lowest = min(heights_m, key=lambda named: named[1], default=None)
    if lowest is None:
        return None
    name, height_m = lowest
    missing_l = volume_l(table, height_m) - volume_l(table, level_now_m)
    if missing_l <= 0.0:
        return Reach(name, height_m, 0.0)
    return Reach(name, height_m, missing_l / inflow_l_per_h if inflow_l_per_h > 0.0 else inf)


def hole_inflow_l_per_min(diameter_m: float, head_m: float, discharge: float = 0.6) -> float:
    """Find how much water a hole below the water line lets in.

    Args:
        diameter_m: diameter of the hole, m, 0 to 0.3.
        head_m: depth below the water outside (or below the water inside, once it is covered), m, 0 to 5.
        discharge: discharge coefficient, 0.6 for a sharp edge to 1.0 for a rounded one; printed tables differ by it.

    Returns:
        L/min.

    Raises:
        ValueError: outside those ranges.

    Equation: Q = Cd A sqrt(2 g h).
    Source: Torricelli's law with a discharge coefficient, any hydraulics handbook.

    >>> round(hole_inflow_l_per_min(0.013, 0.3)), round(hole_inflow_l_per_min(0.025, 0.3))
    (12, 43)
    """
    within("hole diameter", diameter_m, 0.0, 0.3, "m")
    within("head", head_m, 0.0, 5.0, "m")
    within("discharge coefficient", discharge, 0.5, 1.0, "(1)")
    return _L_PER_MIN * discharge * pi * diameter_m * diameter_m / 4.0 * sqrt(2.0 * GRAVITY_M_PER_S2 * head_m)


def hole_diameter_m(inflow_l_per_min: float, head_m: float, discharge: float = 0.6) -> float:
    """Find the hole that would explain an inflow, the inverse of `hole_inflow_l_per_min`.

    Args:
        inflow_l_per_min: inflow, L/min, 0 to 50 000.
        head_m: depth below the water outside, m, 0.01 to 5.
        discharge: discharge coefficient, 0.5 to 1.0.

    Returns:
        Diameter, m.

    Raises:
        ValueError: outside those ranges.

    Equation: d = sqrt(4 Q / (pi Cd sqrt(2 g h))).

    >>> round(hole_diameter_m(42.86, 0.3), 4)
    0.025
    """
    within("inflow", inflow_l_per_min, 0.0, 5e4, "L/min")
    within("head", head_m, 0.01, 5.0, "m")
    within("discharge coefficient", discharge, 0.5, 1.0, "(1)")
    return sqrt(4.0 * inflow_l_per_min / (_L_PER_MIN * pi * discharge * sqrt(2.0 * GRAVITY_M_PER_S2 * head_m)))


def pump_on_board_l_per_h(rated_l_per_h: float, share: float = 0.5) -> float:
    """Find what a bilge pump delivers on board of what its label says.

    Args:
        rated_l_per_h: rated flow, L/h, 0 to 100 000.
        share: share that lift, hose and voltage leave, 0 to 1.

    Returns:
        L/h.

    Raises:
        ValueError: outside those ranges.

    Equation: Q = share Q_rated.
    Source: about half on board, common practice.

    >>> pump_on_board_l_per_h(1800.0)
    900.0
    """
    within("rated flow", rated_l_per_h, 0.0, 1e5, "L/h")
    within("share on board", share, 0.0, 1.0, "(1)")
    return rated_l_per_h * share


def pump_minimum_l_per_h(hull_m: float) -> float:
    """Find the smallest pump rating the standard allows, which is for ordinary bilge water and not for a leak.

    Args:
        hull_m: length of hull, m, 2 to 24.

    Returns:
        L/h: 600 up to 6 m, 900 up to 12 m, 1800 above.

    Raises:
        ValueError: outside that range.

    Source: ISO 15083, by a secondary source.

    >>> pump_minimum_l_per_h(9.5)
    900.0
    """
    within("length of hull", hull_m, 2.0, 24.0, "m")
    if hull_m <= 6.0:
        return 600.0
    return 900.0 if hull_m <= 12.0 else 1800.0


def drips_l_per_day(drops_per_min: float, drop_ml: float = 0.05) -> float:
    """Turn counted drops into litres a day.

    Args:
        drops_per_min: drops a minute, 0 to 1000.
        drop_ml: size of a drop, mL, 0.01 to 0.5; 0.05 is the pharmacist's drop.

    Returns:
        L/day.

    Raises:
        ValueError: outside those ranges.

    Equation: 1440 n v / 1000.

    >>> round(drips_l_per_day(3.0), 3)
    0.216
    """
    within("drops", drops_per_min, 0.0, 1000.0, "1/min")
    within("drop", drop_ml, 0.01, 0.5, "mL")
    return 1.44 * drops_per_min * drop_ml


def drops_per_min_from_l_per_day(l_per_day: float, drop_ml: float = 0.05) -> float:
    """Turn litres a day into drops to be counted, the inverse of `drips_l_per_day`.

    Args:
        l_per_day: L/day, 0 to 720.
        drop_ml: size of a drop, mL, 0.01 to 0.5.

    Returns:
        Drops a minute.

    Raises:
        ValueError: outside those ranges.

    >>> round(drops_per_min_from_l_per_day(0.216), 6)
    3.0
    """
    within("inflow", l_per_day, 0.0, 720.0, "L/day")
    within("drop", drop_ml, 0.01, 0.5, "mL")
    return l_per_day / (1.44 * drop_ml)


def rise_m(water_l: float, area_m2: float) -> float:
    """Find how far an amount of water raises the level over a known area.

    Args:
        water_l: water, L, 0 or more.
        area_m2: area of the water in the bilge, m2, 0.01 to 100.

    Returns:
        Rise, m.

    Raises:
        ValueError: outside those ranges.

    Equation: V / (1000 A).

    >>> round(1000.0 * rise_m(0.216, 0.3), 2)
    0.72
    """
    within("water", water_l, 0.0, inf, "L")
    within("bilge area", area_m2, 0.01, 100.0, "m2")
    return water_l / (1000.0 * area_m2)


def rain_caught_l(rain_m: float, catchment_m2: float) -> float:
    """Find how much rain a cockpit or a torn cover catches.

    Args:
        rain_m: depth of rain, m, 0 to 1.
        catchment_m2: area that drains inboard, m2, 0 to 500.

    Returns:
        L.

    Raises:
        ValueError: outside those ranges.

    Equation: 1000 r A.

    >>> rain_caught_l(0.025, 6.0)
    150.0
    """
    within("rain", rain_m, 0.0, 1.0, "m")
    within("catchment", catchment_m2, 0.0, 500.0, "m2")
    return 1000.0 * rain_m * catchment_m2
