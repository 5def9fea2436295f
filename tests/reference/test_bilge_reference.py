"""Bilge figures against printed tables and worked values."""

from collections.abc import Callable
from functools import partial

from monitor.science.bilge import (
    drips_l_per_day,
    hole_inflow_l_per_min,
    pump_minimum_l_per_h,
    rain_caught_l,
    rise_m,
)

HOLE = "Q = Cd A sqrt(2 g h), Cd 0.6, worked in REFERENCES.md"
WORKED = "worked in REFERENCES.md"
ISO = "ISO 15083, by a secondary source (REFERENCES.md)"
WHOLE = "printed to whole units"

# check, source, ours, theirs, tolerance, why that tolerance
CHECKS: list[tuple[str, str, Callable[[], float], Callable[[], float] | float, float, str]] = [
    ("13 mm hole at 0.3 m, L/min", HOLE, partial(hole_inflow_l_per_min, 0.013, 0.3), 12.0, 0.5, WHOLE),
    ("25 mm hole at 0.3 m, L/min", HOLE, partial(hole_inflow_l_per_min, 0.025, 0.3), 43.0, 0.5, WHOLE),
    ("38 mm hole at 0.3 m, L/min", HOLE, partial(hole_inflow_l_per_min, 0.038, 0.3), 99.0, 0.5, WHOLE),
    ("3 drops a minute, L/day", WORKED, partial(drips_l_per_day, 3.0), 0.22, 0.005, "printed to 0.01 L"),
    (
        "3 drops a minute over 0.3 m2, mm/day",
        WORKED,
        lambda: 1000.0 * rise_m(drips_l_per_day(3.0), 0.3),
        0.7,
        0.05,
        "printed to 0.1 mm",
    ),
    (
        "60 drops a minute over 0.3 m2, mm/day",
        WORKED,
        lambda: 1000.0 * rise_m(drips_l_per_day(60.0), 0.3),
        14.0,
        0.5,
        WHOLE,
    ),
    ("25 mm of rain on 6 m2, L", WORKED, partial(rain_caught_l, 0.025, 6.0), 150.0, 0.5, WHOLE),
    ("smallest pump to 6 m, L/h", ISO, partial(pump_minimum_l_per_h, 6.0), 600.0, 0.0, "a limit"),
    ("smallest pump to 12 m, L/h", ISO, partial(pump_minimum_l_per_h, 12.0), 900.0, 0.0, "a limit"),
    ("smallest pump above 12 m, L/h", ISO, partial(pump_minimum_l_per_h, 12.1), 1800.0, 0.0, "a limit"),
]
