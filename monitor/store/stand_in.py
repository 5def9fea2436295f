"""What stands in for raw readings that were dropped, where a watch is folded again from the lay-up on: the hours.

One reading an hour and sensor, at the hour's end: the mean of what was believed, or for a switch what it mostly said.
That is enough for what rules keep of weeks (wetness, charge, how long a thing lasted); a flicker of minutes is not in
it. What was told of it stands in the alerts, which are never dropped.
"""

from bisect import bisect_left
from collections.abc import Iterator
from sqlite3 import Connection

from monitor.model.reading import Reading
from monitor.model.vessel import Vessel
from monitor.store.dropped import Dropped
from monitor.store.hours import HOUR_MS

# A gateway's backlog may be of hours before its boat's record came: those are due with the first clock after it.
_HOURS = (
    "WITH joined AS (SELECT vessel, (SELECT at_ms FROM input WHERE kind = 'clock' AND seq < first ORDER BY seq DESC"
    " LIMIT 1) AS at_ms FROM (SELECT vessel, min(seq) AS first FROM record GROUP BY vessel))"
    f" SELECT vessel, sensor, hour_ms + {HOUR_MS - 1} AS at,"
    f" max(hour_ms + {HOUR_MS - 1}, coalesce(joined.at_ms, 0) + 1) AS due, total / count FROM hour"
    " JOIN series ON series.id = hour.series JOIN joined USING (vessel)"
    " WHERE hour_ms <= ? AND count > 0 ORDER BY due, at, hour.series"
)
_CLOCKS = "SELECT seq, at_ms FROM input WHERE kind = 'clock' AND seq <= ? ORDER BY seq"
_RECORDS = "SELECT document FROM record ORDER BY seq"


def stand_ins(db: Connection, dropped: Dropped, after_seq: int) -> Iterator[tuple[int, Reading]]:
    """Give a reading for each hour of which raw readings were dropped, in order.

    Each carries the seq of the clock that came after it: by it, it stands among the other inputs.
    """
    clocks = db.execute(_CLOCKS, (dropped.seq,)).fetchall()
    times = [at_ms for _, at_ms in clocks]
    switches = _switches(db)
    for vessel, sensor, at_ms, due_ms, mean in db.execute(_HOURS, (dropped.to_ms,)):
        place = bisect_left(times, due_ms)
        seq = clocks[place][0] if place < len(clocks) else dropped.seq
        if seq <= after_seq:
            continue
        value = float(mean >= 0.5) if (vessel, sensor) in switches else mean  # noqa: PLR2004 - more often on than off
        yield seq, Reading(vessel, sensor, at_ms, at_ms, at_ms, value)


def _switches(db: Connection) -> frozenset[tuple[str, str]]:
    vessels = (Vessel.model_validate_json(document) for (document,) in db.execute(_RECORDS))
    return frozenset((v.id, s.id) for v in vessels for s in v.sensors if s.quantity.is_switch)
