"""Charts of long spans from the history server, and of all others, or while it is away, from the journal."""

import logging
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Protocol

from monitor.model.views import Bucket, Buckets, Newest, ReadingView, Said
from monitor.store.buckets import RAW_SPAN_MS, raw_from_ms, step_for
from monitor.store.history_config import HistoryConfig
from monitor.store.history_flux import FluxSource
from monitor.store.history_prometheus import PrometheusSource
from monitor.store.history_read import HistoryReadError
from monitor.store.reader import Reader

log = logging.getLogger(__name__)

ASK_AGAIN_AFTER_S = 30.0
"""So long nobody's page waits for a server that did not answer."""


class BucketSource(Protocol):
    """A server that sums readings up."""

    def read(self, vessel: str, sensor: str, start_ms: int, to_ms: int, step_ms: int) -> list[Bucket]:
        """Give the buckets from a multiple of the step on that begin before ``to_ms``, oldest first.

        Raises:
            HistoryReadError: where it cannot say.
        """
        ...

    def close(self) -> None:
        """Close its connections."""
        ...


class HistoryView:
    """A `ReadingView` that asks history for what is long, or no longer in the journal as raw readings.

    Args:
        source: the server.
        journal: what is asked where history is not.
        path: the journal's file.
        complete: whether all that is stored has been sent there; where it has not, the journal is asked.

    Attributes:
        failing: why the server cannot be asked, None while it can.
    """

    def __init__(self, source: BucketSource, journal: ReadingView, path: Path, complete: Callable[[], bool]) -> None:
        self.failing: str | None = None
        self._source, self._journal, self._complete = source, journal, complete
        self._reader = Reader(path)
        self._lock = threading.Lock()
        self._not_before = 0.0

    def close(self) -> None:
        """Close the connections."""
        self._source.close()
        self._reader.close()

    def newest(self, vessel: str) -> dict[str, Newest]:
        """Give the last reading of each of a vessel's sensors, by sensor id."""
        return self._journal.newest(vessel)

    def buckets(self, vessel: str, sensor: str, from_ms: int, to_ms: int, at_most: int) -> Buckets:
        """Sum a sensor's readings of a span up into at most so many buckets (save that none is longer than a day)."""
        is_long = to_ms - from_ms > RAW_SPAN_MS or from_ms <= raw_from_ms(self._reader)
        if not is_long or not self._complete() or time.monotonic() < self._not_before:
            return self._journal.buckets(vessel, sensor, from_ms, to_ms, at_most)
        step = step_for(to_ms - from_ms, at_most)
        try:
            found = self._source.read(vessel, sensor, from_ms // step * step, to_ms, step)
        except HistoryReadError as error:
            self._note(str(error))
            return self._journal.buckets(vessel, sensor, from_ms, to_ms, at_most)
        self._note(None)
        return Buckets(step, found)

    def said(self, vessel: str, sensor: str, from_ms: int | None, to_ms: int) -> Iterator[Said]:
        """Give all that a sensor said, from the journal: history keeps no marks of single readings."""
        return self._journal.said(vessel, sensor, from_ms, to_ms)

    def raw_from_ms(self) -> int:
        """Give the event time after which the journal has every raw reading; -1 where none was dropped."""
        return self._journal.raw_from_ms()

    def delays(self) -> Iterator[str]:
        """Say in a plain sentence where charts come from instead."""
        if self.failing is not None:
            yield f"Charts of long spans come from the journal: history cannot be read ({self.failing})"

    def _note(self, trouble: str | None) -> None:
        with self._lock:
            if trouble is not None:
                self._not_before = time.monotonic() + ASK_AGAIN_AFTER_S
                if self.failing is None:
                    log.warning("history cannot be read (%s); charts come from the journal meanwhile", trouble)
            elif self.failing is not None:
                log.warning("history is read again")
            self.failing = trouble


def history_view(
    config: HistoryConfig, yard: str, journal: ReadingView, path: Path, complete: Callable[[], bool]
) -> HistoryView | None:
    """Make the view that the settings ask for, None where charts come from the journal alone."""
    if config.read is None:
        return None
    kinds: dict[str, Callable[[HistoryConfig, str], BucketSource]] = {
        "prometheus": PrometheusSource,
        "flux": FluxSource,
    }
    return HistoryView(kinds[config.read](config, yard), journal, path, complete)
