"""A weather forecast as a CSV file, read again whenever it changes."""

import csv
import io
import logging
import threading
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from monitor.model.parcel import ForecastMessage
from monitor.model.quantity import SPANS, Quantity
from monitor.model.surroundings import LONGEST_FORECAST

log = logging.getLogger(__name__)

LOOK_EVERY_S = 30.0
STOP_WITHIN_S = 2.0
LARGEST = 1024 * 1024


class ForecastFileError(Exception):
    """A forecast file that cannot be used. Its text says where and why."""


def read_forecast(text: str, source: str) -> ForecastMessage:
    """Read a forecast: columns ``time`` (ISO 8601 with an offset) and ``temperature`` (degC), others are passed by.

    Raises:
        ForecastFileError: naming the first line that cannot be used.
    """
    rows = csv.DictReader(io.StringIO(text))
    missing = {"time", "temperature"} - set(rows.fieldnames or ())
    if missing:
        raise ForecastFileError(f"{source}: line 1: no column {' and no column '.join(sorted(missing))}")
    span = SPANS[Quantity.TEMPERATURE]
    hours: list[tuple[int, float]] = []
    for number, row in enumerate(rows, 2):
        try:
            at = datetime.fromisoformat(row["time"])
            degc = float(row["temperature"])
        except (TypeError, ValueError) as error:
            raise ForecastFileError(f"{source}: line {number}: {error}") from error
        if at.tzinfo is None:
            raise ForecastFileError(
                f"{source}: line {number}: time {row['time']!r} has no offset; end it in Z or +01:00"
            )
        if not span.low <= degc <= span.high:
            raise ForecastFileError(f"{source}: line {number}: {degc:g} degC is outside {span.low:g} to {span.high:g}")
        hours.append((round(at.timestamp() * 1000), degc))
    if not hours or len(hours) > LONGEST_FORECAST:
        raise ForecastFileError(f"{source}: has {len(hours)} hours; 1 to {LONGEST_FORECAST} are taken")
    return ForecastMessage(tuple(hours))


class ForecastFile:
    """Looks at a forecast file every half minute, and hands on what it says when it has changed.

    Args:
        path: the file; it need not be there yet.
        deliver: takes a forecast.
    """

    def __init__(self, path: Path, deliver: Callable[[ForecastMessage], object]) -> None:
        self.failing: str | None = None
        self._path, self._deliver = path, deliver
        self._seen: tuple[int, int] | None = None
        self._stopping = threading.Event()
        self._thread = threading.Thread(target=self._run, name="forecast", daemon=True)

    def start(self) -> None:
        """Start looking."""
        self._thread.start()

    def stop(self) -> None:
        """Stop looking."""
        self._stopping.set()
        self._thread.join(STOP_WITHIN_S)

    def look(self) -> None:
        """Look once."""
        try:
            stat = self._path.stat()
            if (stat.st_mtime_ns, stat.st_size) == self._seen:
                return
            with self._path.open(encoding="utf-8") as file:
                message = read_forecast(file.read(LARGEST), str(self._path))
        except (OSError, UnicodeDecodeError, ForecastFileError, csv.Error) as error:
            if str(error) != self.failing:
                log.warning("the forecast is not taken: %s", error)
            self.failing = str(error)
            return
        self._seen, self.failing = (stat.st_mtime_ns, stat.st_size), None
        self._deliver(message)

    def _run(self) -> None:
        while not self._stopping.is_set():
            self.look()
            self._stopping.wait(LOOK_EVERY_S)
