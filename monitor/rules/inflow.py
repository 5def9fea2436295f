"""What a rise means: litres an hour by the dip table, and how long until the water reaches something."""

from dataclasses import dataclass

from monitor.model.equipment import Bilge
from monitor.model.finding import TimeToHarm
from monitor.rules.rising import Rise
from monitor.science.bilge import DipTable, inflow_l_per_h, volume_l

_HOUR_S = 3_600


@dataclass(frozen=True, slots=True)
class Inflow:
    """What comes in, and what it reaches first.

    Attributes:
        l_per_h, low_l_per_h, high_l_per_h: litres an hour, None without a dip table that covers the level.
        reaches: name of the lowest thing that water harms, or of the high mark where none is recorded.
        height_m: its height.
        harm: time from the last reading until the water is there, None where it is not rising.
    """

    l_per_h: float | None
    low_l_per_h: float | None
    high_l_per_h: float | None
    reaches: str
    height_m: float
    harm: TimeToHarm | None


def dip_table(bilge: Bilge) -> DipTable | None:
    """Give a bilge's dip table, None where none is recorded or it cannot be read both ways.

    Below a lowest row that lies above the sensor's zero it is carried down to nothing at zero.
    """
    rows = bilge.dip_table
    if not rows:
        return None
    lowest_m, lowest_l = rows[0]
    try:
        return DipTable.from_rows(((0.0, 0.0), *rows) if lowest_m > 0.0 and lowest_l > 0.0 else rows)
    except ValueError:
        return None


def inflow_of(bilge: Bilge, table: DipTable | None, level_m: float, rise: Rise) -> Inflow:
    """Work out the inflow of a rise and the time to the lowest thing it harms.

    With a dip table the time follows the litres that are still missing, because a bilge widens upwards; without one,
    or where it does not reach so far, it follows the level.
    """
    reaches, height_m = bilge.harm_heights[0] if bilge.harm_heights else ("high mark", bilge.high_m)
    rate, missing, litres = rise.m_per_h, max(height_m - level_m, 0.0), None
    if table is not None:
        before_l, now_l = litres_at(table, level_m - rise.risen_m), litres_at(table, level_m)
        gained = inflow_l_per_h(before_l, now_l, max(rise.over_h, 1 / 60))
        if gained > 0.0:
            litres = gained
            if table.levels_m[0] <= height_m <= table.levels_m[-1]:
                rate, missing = gained, max(volume_l(table, height_m) - now_l, 0.0)
    if rate <= 0.0:
        return Inflow(litres, litres, litres, reaches, height_m, None)
    low, high = max(rise.low_m_per_h, 0.0) / rise.m_per_h, rise.high_m_per_h / rise.m_per_h
    soonest, latest = missing / (rate * high) * _HOUR_S, missing / (rate * low) * _HOUR_S if low > 0.0 else None
    least_l, most_l = (None if litres is None else litres * share for share in (low, high))
    return Inflow(litres, least_l, most_l, reaches, height_m, TimeToHarm(soonest, latest))


def litres_at(table: DipTable, level_m: float) -> float:
    """Give the litres at a level, held at the ends of the table beyond them."""
    return volume_l(table, min(max(level_m, table.levels_m[0]), table.levels_m[-1]))
