"""What every way of reading history shares: its error, and buckets put together from what the server summed up."""

from collections.abc import Mapping

from monitor.model.scale import Flag
from monitor.model.views import Bucket

READ_WITHIN_S = 5.0
"""How long somebody who looks at a page may be kept waiting."""


class HistoryReadError(Exception):
    """History that cannot be read. Its text says why."""


def buckets_of(sums: Mapping[str, Mapping[int, float]]) -> list[Bucket]:
    """Put buckets together, oldest first.

    Args:
        sums: ``low``, ``high``, ``mean``, ``count`` and ``worst`` by their bucket's start, ms UTC. Where all readings
            of a bucket failed, there is its ``worst`` only; where no flag is final yet, there is none.
    """
    empty: dict[int, float] = {}
    lows, highs, means, counts, worsts = (sums.get(key, empty) for key in ("low", "high", "mean", "count", "worst"))
    return [
        Bucket(
            start,
            lows.get(start),
            highs.get(start),
            means.get(start),
            round(counts.get(start, 0)),
            Flag(round(worsts.get(start, Flag.PASS))),
        )
        for start in sorted({*counts, *worsts})
    ]
