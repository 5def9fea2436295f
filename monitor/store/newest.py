"""The last reading of every sensor, kept up by what was committed since it was last asked for."""

import threading

from monitor.model.scale import Flag
from monitor.model.views import Newest
from monitor.store.reader import Reader
from monitor.store.rows import CLOCK_FAULT, NOT_NEWS

# CROSS JOIN has SQLite go from the few series to one reading each; left to itself it walks through every reading.
# Steps back over readings that were no news, or of a faulty clock, are few: either by the index alone.
_FIRST = (
    "SELECT s.vessel, s.sensor, r.event_ms, r.arrived_ms, r.value, r.flag FROM series s CROSS JOIN reading r ON"
    " r.series = s.id AND r.stated_ms = (SELECT stated_ms FROM reading WHERE series = s.id AND mark & ? = 0"
    " ORDER BY stated_ms DESC LIMIT 1)"
)
_SINCE = (
    "SELECT s.vessel, s.sensor, r.event_ms, r.arrived_ms, r.value, r.flag, r.mark, r.seq FROM reading r"
    " JOIN series s ON s.id = r.series WHERE r.seq > ? ORDER BY r.seq"
)
# A level's flag settles one reading later; what is newest may have been told before it settled.
_FLAGS = (
    "SELECT s.sensor, r.flag FROM series s JOIN reading r ON r.series = s.id"
    " WHERE s.vessel = ? AND r.stated_ms = (SELECT max(stated_ms) FROM reading WHERE series = s.id)"
)
MOST_FOLLOWED = 50_000


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
        self._newest: dict[str, dict[str, Newest]] = {}
        self._heard: dict[str, int] = {}

    def of(self, vessel: str) -> dict[str, Newest]:
        """Give the last reading of each of a vessel's sensors, with the flag it has by now."""
        with self._lock:
            self._catch_up()
            known = dict(self._newest.get(vessel, {}))
        for sensor, flag in self._reader.rows(_FLAGS, (vessel,)):
            newest = known.get(sensor)
            if newest is not None:
                known[sensor] = Newest(newest.event_ms, newest.arrived_ms, newest.value, Flag(flag))
        return known

    def heard(self) -> dict[str, int]:
        """Give when each vessel was last heard (ms UTC), by id; one never heard is left out."""
        with self._lock:
            self._catch_up()
            return dict(self._heard)

    def sensors(self) -> dict[str, frozenset[str]]:
        """Give the sensors of each vessel that have ever been heard."""
        with self._lock:
            self._catch_up()
            return {vessel: frozenset(sensors) for vessel, sensors in self._newest.items()}

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
        for vessel, sensor, event, arrived, value, flag, mark, seq in self._reader.rows(_SINCE, (self._seq,)):
            self._seq = seq
            self._stored += 1
            if not mark & NOT_NEWS:
                self._take(vessel, sensor, Newest(event, arrived, value, Flag(flag)))

    def _start_again(self, last_seq: int) -> None:
        """Look at the newest of each series instead of following all that came: at a start, or long after."""
        more = self._reader.row("SELECT count(*) FROM reading WHERE seq > ? AND seq <= ?", (self._seq or 0, last_seq))
        before = self._reader.row("SELECT readings FROM dropped") if self._seq is None else None
        self._stored += (int(more[0]) if more else 0) + (int(before[0]) if before else 0)
        self._seq = last_seq
        for vessel, sensor, event, arrived, value, flag in self._reader.rows(_FIRST, (CLOCK_FAULT | NOT_NEWS,)):
            self._take(vessel, sensor, Newest(event, arrived, value, Flag(flag)))

    def _take(self, vessel: str, sensor: str, reading: Newest) -> None:
        self._heard[vessel] = max(self._heard.get(vessel, reading.arrived_ms), reading.arrived_ms)
        sensors = self._newest.setdefault(vessel, {})
        known = sensors.get(sensor)
        if known is None or reading.event_ms >= known.event_ms:
            sensors[sensor] = reading
