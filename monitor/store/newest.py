"""The last reading of every sensor, kept up by what was committed since it was last asked for."""

import threading

from monitor.model.scale import Flag
from monitor.model.views import Newest
from monitor.store.reader import Reader
from monitor.store.rows import CLOCK_FAULT, NOT_NEWS

# CROSS JOIN has SQLite go from the few series to one reading each; left to itself it walks through every reading.
# Steps back over readings that were no news, or of a faulty clock, are few: either by the index alone.
_FIRST = (
    "SELECT s.id, r.event_ms, r.arrived_ms, r.value, r.flag FROM series s CROSS JOIN reading r ON"
    " r.series = s.id AND r.stated_ms = (SELECT stated_ms FROM reading WHERE series = s.id AND mark & ? = 0"
    " ORDER BY stated_ms DESC LIMIT 1)"
)
_SINCE = "SELECT series, event_ms, arrived_ms, value, flag, mark, seq FROM reading WHERE seq > ? ORDER BY seq"
# A level's flag settles one reading later; what is newest may have been told before it settled.
_FLAGS = (
    "SELECT s.sensor, r.flag FROM series s JOIN reading r ON r.series = s.id"
    " WHERE s.vessel = ? AND r.stated_ms = (SELECT max(stated_ms) FROM reading WHERE series = s.id)"
)
MOST_FOLLOWED = 50_000

_Said = tuple[int, int, float, int]
"""What a sensor said last: event_ms, arrived_ms, value and flag. Thousands come in between two questions, so that
nothing is made of them before somebody asks for their vessel."""


class NewestReadings:
    """What each sensor said last, and when each vessel was last heard.

    A reading that was no news when it came (a retained message) is not hearing from her. A late one is: her gateway
    spoke, though the reading does not replace a newer one.
    """

    def __init__(self, reader: Reader) -> None:
        self._reader = reader
        self._lock = threading.Lock()
        self._seq: int | None = None
        self._stored = 0
        self._names: dict[int, tuple[str, str]] = {}
        self._said: dict[int, _Said] = {}
        self._series: dict[str, dict[str, int]] = {}
        self._spoken: dict[str, frozenset[str]] = {}
        self._heard: dict[str, int] = {}

    def of(self, vessel: str) -> dict[str, Newest]:
        """Give the last reading of each of a vessel's sensors, with the flag it has by now."""
        with self._lock:
            self._catch_up()
            said = {sensor: self._said[series] for sensor, series in self._series.get(vessel, {}).items()}
        flags: dict[str, int] = dict(self._reader.rows(_FLAGS, (vessel,)))
        return {
            sensor: Newest(event, arrived, value, Flag(flags.get(sensor, flag)))
            for sensor, (event, arrived, value, flag) in said.items()
        }

    def heard(self) -> dict[str, int]:
        """Give when each vessel was last heard (ms UTC), by id; one never heard is left out."""
        with self._lock:
            self._catch_up()
            return dict(self._heard)

    def sensors(self) -> dict[str, frozenset[str]]:
        """Give the sensors of each vessel that have ever been heard; the same set as long as none is added."""
        with self._lock:
            self._catch_up()
            return dict(self._spoken)

    def stored(self) -> int:
        """Give how many readings were stored, those dropped since among them."""
        with self._lock:
            self._catch_up()
            return self._stored

    def _catch_up(self) -> None:
        last = self._reader.row("SELECT coalesce(max(seq), 0) FROM reading")
        last_seq = int(last[0]) if last else 0
        if self._seq is None or last_seq - self._seq > MOST_FOLLOWED:
            self._start_again(last_seq)
        elif last_seq == self._seq:
            return
        rows = self._reader.rows(_SINCE, (self._seq,))
        for series, event, arrived, value, flag, mark, _ in rows:
            if not mark & NOT_NEWS:
                self._take(series, (event, arrived, value, flag))
        if rows:
            self._seq = rows[-1][-1]
            self._stored += len(rows)

    def _start_again(self, last_seq: int) -> None:
        """Look at the newest of each series instead of following all that came: at a start, or long after."""
        more = self._reader.row("SELECT count(*) FROM reading WHERE seq > ? AND seq <= ?", (self._seq or 0, last_seq))
        before = self._reader.row("SELECT readings FROM dropped") if self._seq is None else None
        self._stored += (int(more[0]) if more else 0) + (int(before[0]) if before else 0)
        self._seq = last_seq
        for series, *said in self._reader.rows(_FIRST, (CLOCK_FAULT | NOT_NEWS,)):
            self._take(series, tuple(said))

    def _take(self, series: int, said: _Said) -> None:
        known = self._said.get(series)
        if known is None or said[0] >= known[0]:
            self._said[series] = said
        if known is None:
            self._hear_first(series)
        vessel = self._names[series][0]
        if said[1] > self._heard.get(vessel, said[1] - 1):
            self._heard[vessel] = said[1]

    def _hear_first(self, series: int) -> None:
        if series not in self._names:
            newer = self._reader.rows(
                "SELECT id, vessel, sensor FROM series WHERE id > ?", (max(self._names, default=0),)
            )
            self._names.update((key, (vessel, sensor)) for key, vessel, sensor in newer)
        vessel, sensor = self._names[series]
        sensors = self._series.setdefault(vessel, {})
        sensors[sensor] = series
        self._spoken[vessel] = frozenset(sensors)
