"""Where boats have ever stood, of every version of every record: each read once, and none of them parsed as a whole."""

import threading

from monitor.model.views import Place
from monitor.store.reader import Reader

_SINCE = "SELECT document ->> '$.plot', document ->> '$.berth', seq FROM record WHERE seq > ? ORDER BY seq"
_FIRST = "SELECT from_ms FROM record WHERE vessel = ? ORDER BY version LIMIT 1"


class KeptPlaces:
    """The places of a yard, kept up by what was committed since they were last asked for. Any thread may ask."""

    def __init__(self, reader: Reader) -> None:
        self._reader = reader
        self._lock = threading.Lock()
        self._seq = -1
        self._places: set[Place] = set()

    def places(self) -> frozenset[Place]:
        """Give every plot and berth at which a record ever had a boat."""
        with self._lock:
            for plot, berth, seq in self._reader.rows(_SINCE, (self._seq,)):
                self._places.add(Place(plot, berth))
                self._seq = seq
            return frozenset(self._places)


def read_first_ms(reader: Reader, vessel: str) -> int | None:
    """Give since when a vessel has a record, None where she has none."""
    row = reader.row(_FIRST, (vessel,))
    return None if row is None else int(row[0])
