"""The forecast that is known, for readers: followed by seq, since it stands among hundreds of thousands of clocks."""

import threading

from monitor.model.inputs import ForecastVersion
from monitor.model.surroundings import Forecast
from monitor.store.inputs import input_from_row
from monitor.store.reader import Reader

_NEWEST = "SELECT body FROM input WHERE kind = 'forecast' AND seq > ? AND seq <= ? ORDER BY seq DESC LIMIT 1"


class KeptForecast:
    """The newest forecast of a journal; any thread may ask."""

    def __init__(self, reader: Reader) -> None:
        self._reader = reader
        self._lock = threading.Lock()
        self._seq = 0
        self._known: Forecast | None = None

    def newest(self) -> Forecast | None:
        """Give the forecast that came last, None where none has."""
        with self._lock:
            row = self._reader.row("SELECT coalesce(max(seq), 0) FROM input")
            last = 0 if row is None else int(row[0])
            if last > self._seq:
                found = self._reader.row(_NEWEST, (self._seq, last))
                version = None if found is None else input_from_row("forecast", found[0])
                if isinstance(version, ForecastVersion):
                    self._known = version.forecast
                self._seq = last
            return self._known
