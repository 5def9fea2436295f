"""The score's rows: what is asked of the watch for each harm, as the issue's table has it."""

from dataclasses import dataclass
from enum import StrEnum

HOUR_S = 3_600.0
DAY_S = 86_400.0


class Measure(StrEnum):
    """What is measured of an episode."""

    WARNING = "warning"
    DELAY = "delay"


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the score.

    Attributes:
        name: what it is about.
        measure: the warning before a harm, or the delay after a cause or a mark on its way.
        target_s: the least warning or the longest delay; None where nothing is promised, or where the target is a
            time of day (`promise` says so).
        share: the share of its episodes that has to be within the target.
        all_caught: whether every one has to be caught.
        promise: the target in words, empty where there is none.
    """

    name: str
    measure: Measure
    target_s: float | None = None
    share: float = 1.0
    all_caught: bool = True
    promise: str = ""


_W, _D = Measure.WARNING, Measure.DELAY

FREEZE_FORECAST = Row(
    "begins to freeze, with a forecast", _W, share=0.95, promise="by notice time of the working day before in 95 %"
)
FREEZE_ALONE = Row("begins to freeze, no forecast", _W, 6 * HOUR_S, share=0.95, promise="6 h in 95 %")
FREEZE_DRAINED = Row("freezes though recorded drained", _W, all_caught=False)
FAST_HARM = Row("inflow of 5 L/min or more: before harm", _W)
FAST_FLOAT = Row("inflow of 5 L/min or more: alarm after the float", _D, 60.0, promise="1 min")
SLOW_HARM = Row("inflow of 0.5 L/h or more: before harm", _W)
SLOW_RISE = Row("inflow of 0.5 L/h or more: after 20 mm risen", _D, 2 * HOUR_S, promise="2 h")
OTHER_HARM = Row("water by rain, burst or drip: before harm", _W)
DRIP = Row("gland drip, 20 to 25 drops a minute", _D, 4 * DAY_S, share=0.5, promise="median 4 d")
LARGE_DRIP = Row("gland drip, more drops", _D, 4 * DAY_S, share=0.5, promise="median 4 d")
SMALL_DRIP = Row("gland drip, fewer drops", _D, all_caught=False)
HALF_SLOW = Row("battery to half, draw under 0.5 % a day", _W, 7 * DAY_S, promise="7 d")
HALF_FAST = Row("battery to half, faster draw", _W)
NO_PUMP = Row("battery cannot run the pump a day", _W)
BATTERY_FROZEN = Row("battery frozen", _W)
DEHUMIDIFIER = Row("dehumidifier stopped, after it was needed", _D, 48 * HOUR_S, promise="48 h")
POWER_SEEN = Row("shore power lost, with a mains sensor", _D, 120.0, promise="2 min")
POWER_INFERRED = Row("shore power lost, inferred", _D, 6 * HOUR_S, promise="6 h")
SILENT_AFLOAT = Row("not heard, afloat", _D, HOUR_S, promise="1 h")
SILENT_ASHORE = Row("not heard, ashore", _D, 12 * HOUR_S, promise="12 h")
SILENT_FROST = Row("not heard, ashore, freezes within a day", _D, 6 * HOUR_S, share=0.95, promise="6 h in 95 %")
MOULD = Row("mould on furnishings", _W, all_caught=False)
HARM_UNSEEN = Row("any harm above, its sensors at fault", _W, all_caught=False)
CAUSE_UNSEEN = Row("any cause above, its sensors at fault", _D, all_caught=False)

ROWS = (
    FREEZE_FORECAST,
    FREEZE_ALONE,
    FREEZE_DRAINED,
    FAST_HARM,
    FAST_FLOAT,
    SLOW_HARM,
    SLOW_RISE,
    OTHER_HARM,
    DRIP,
    LARGE_DRIP,
    SMALL_DRIP,
    HALF_SLOW,
    HALF_FAST,
    NO_PUMP,
    BATTERY_FROZEN,
    DEHUMIDIFIER,
    POWER_SEEN,
    POWER_INFERRED,
    SILENT_AFLOAT,
    SILENT_ASHORE,
    SILENT_FROST,
    MOULD,
    HARM_UNSEEN,
    CAUSE_UNSEEN,
)
BY_NAME = {row.name: row for row in ROWS}
