"""Values that one message states for one sensor at one time: a few may be meant, thousands are not.

Each is given a place of its own in the journal, a millisecond after the one before: thousands would be stored at times
that nobody stated, seconds ahead.
"""

from collections import Counter
from collections.abc import Sequence

from monitor.intake.refusal import Refusal
from monitor.model.parcel import RawReading, RejectReason

MOST_AT_ONE_TIME = 20


def few_at_one_time(readings: list[RawReading]) -> tuple[list[RawReading], Sequence[Refusal]]:
    """Give what is taken of a message's readings, and what is said of the rest, a line a sensor."""
    if len(readings) <= MOST_AT_ONE_TIME:
        return readings, ()
    taken: list[RawReading] = []
    count: Counter[tuple[str, int | None, int]] = Counter()
    left: Counter[str] = Counter()
    for reading in readings:
        at = (reading.sensor, reading.stated_ms, reading.offset_ms)
        count[at] += 1
        if count[at] > MOST_AT_ONE_TIME:
            left[reading.sensor] += 1
        else:
            taken.append(reading)
    return taken, [_refusal(sensor, number) for sensor, number in left.items()]


def _refusal(sensor: str, left: int) -> Refusal:
    detail = f"{sensor}: {left} values beyond {MOST_AT_ONE_TIME} of one time in one message; state each value's time"
    return Refusal(RejectReason.WRONG_TIME, detail)
