"""Holes in what each sensor said: times of which nothing is stored, longer than its usual cadence explains."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from sqlite3 import Connection
from statistics import median

from monitor.model.vessel import Vessel
from monitor.store.dropped import read_dropped
from monitor.store.hours import HOUR_MS
from monitor.store.rows import CLOCK_FAULT, NOT_NEWS

HOLE_CADENCES = 3
"""A gap of more than so many usual cadences is a hole: one message lost is none, and two are."""

_TIMES = (
    "SELECT hour_ms FROM hour WHERE series = ?1 AND hour_ms <= ?2 AND hour_ms + 3600000 > ?3 UNION ALL"
    f" SELECT event_ms FROM reading WHERE series = ?1 AND mark & {CLOCK_FAULT | NOT_NEWS} = 0"
    " AND event_ms > max(?2, ?3) ORDER BY 1"
)


@dataclass(frozen=True, slots=True)
class SensorHoles:
    """The holes of one sensor since the lay-up, event time.

    Attributes:
        vessel: vessel id.
        sensor: sensor id.
        cadence_ms: how far its readings usually are apart.
        count: how many holes.
        longest_ms: the longest, 0 where there is none.
        longest_from_ms: when that one began.
    """

    vessel: str
    sensor: str
    cadence_ms: int
    count: int
    longest_ms: int
    longest_from_ms: int


def find_holes(db: Connection, vessels: dict[str, Vessel], until_ms: int) -> Iterator[SensorHoles]:
    """Go through every series of the vessels; where raw readings were dropped, through the hours.

    Args:
        db: the journal.
        vessels: the valid records, by vessel id.
        until_ms: event time now: what a sensor of the record has not said since its last word is a hole as well.
    """
    dropped_to_ms = read_dropped(db).to_ms
    for series, vessel, sensor in db.execute("SELECT id, vessel, sensor FROM series ORDER BY 2, 3").fetchall():
        record = vessels.get(vessel)
        if record is None:
            continue
        laid_up_ms = round(record.laid_up.timestamp() * 1000)
        times = [row[0] for row in db.execute(_TIMES, (series, dropped_to_ms, laid_up_ms))]
        stated_s = next((s.interval_s for s in record.sensors if s.id == sensor), None)
        cadence_ms = _cadence_ms(times, dropped_to_ms, 0 if stated_s is None else round(stated_s * 1000))
        if stated_s is not None and times and until_ms > times[-1]:
            times.append(until_ms)
        yield _holes_of(vessel, sensor, times, dropped_to_ms, cadence_ms)


def _cadence_ms(times: list[int], dropped_to_ms: int, stated_ms: int) -> int:
    apart = [after - before for before, after in pairwise(times) if before > dropped_to_ms]
    # A switch that is heard whenever it moves seems quicker than it promises to be.
    return max(round(median(apart)) if apart else 0, stated_ms)


def _holes_of(vessel: str, sensor: str, times: list[int], dropped_to_ms: int, cadence_ms: int) -> SensorHoles:
    count = longest_ms = longest_from_ms = 0
    for before, after in pairwise(times):
        summed_up = before <= dropped_to_ms  # an hour, heard at some time of it
        gap_ms = after - before - (HOUR_MS if summed_up else 0)
        if gap_ms <= HOLE_CADENCES * cadence_ms:
            continue
        count += 1
        if gap_ms > longest_ms:
            longest_ms, longest_from_ms = gap_ms, before + (HOUR_MS if summed_up else 0)
    return SensorHoles(vessel, sensor, cadence_ms, count, longest_ms, longest_from_ms)
