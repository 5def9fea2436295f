"""What stands on a vessel's time axis beside her readings and alerts."""

from collections.abc import Sequence
from dataclasses import dataclass

from monitor.charts.panel import Happening
from monitor.model.surroundings import Forecast


@dataclass(frozen=True, slots=True)
class Beside:
    """What else stands on the axis.

    Attributes:
        now_ms: the time now, ms UTC; None where all of the axis is past.
        forecast: the forecast that came last.
        happenings: what people did.
        aside: when alerts were put aside, as (rule, from, to) in ms UTC.
    """

    now_ms: int | None = None
    forecast: Forecast | None = None
    happenings: Sequence[Happening] = ()
    aside: Sequence[tuple[str, int, int]] = ()


NOTHING = Beside()
