"""History beyond this machine: every stored reading, sent on to any server with the InfluxDB v2 write API.

It follows the journal by a cursor on ``seq``, so a server that is away delays and loses nothing, and blocks nobody.
Points are written in synchronous batches: the client's own batching mode drops what it holds when it gives up. A point
is known by its series and time, so what is written again after a crash changes nothing.
"""

import logging
import threading
from collections.abc import Callable
from concurrent.futures import Future
from pathlib import Path
from typing import Annotated

from influxdb_client.client.influxdb_client import InfluxDBClient
from influxdb_client.client.write_api import SYNCHRONOUS
from influxdb_client.domain.write_precision import WritePrecision
from influxdb_client.rest import ApiException
from pydantic import BaseModel, ConfigDict, Field, SecretStr
from urllib3.exceptions import HTTPError

from monitor.store.reader import Reader
from monitor.store.rows import NOT_NEWS

log = logging.getLogger(__name__)

CURSOR = "history"
MOST_POINTS = 1_000
IDLE_S = 5.0
FIRST_RETRY_S = 1.0
LONGEST_RETRY_S = 300.0
STOP_WITHIN_S = 3.0


class HistoryConfig(BaseModel):
    """Where history goes: a server with the InfluxDB v2 write API."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    url: Annotated[str, Field(pattern=r"^https?://\S+$")]
    org: str = "-"
    bucket: str = "coldberth"
    token: SecretStr = SecretStr("")
    timeout_s: Annotated[float, Field(gt=0, le=600)] = 10.0


class History:
    """Sends stored readings on, in the order of their seq.

    Args:
        config: the server.
        yard: the yard's id, a tag of every point.
        journal: the journal's file.
        move_cursor: has the writer note how far it has come; the future is done when that is committed.
    """

    def __init__(
        self, config: HistoryConfig, yard: str, journal: Path, move_cursor: Callable[[int], "Future[str | None]"]
    ) -> None:
        self.failing: str | None = None
        self._config = config
        self._yard = yard
        self._reader = Reader(journal)
        self._move_cursor = move_cursor
        self._stopping = threading.Event()
        self._woken = threading.Event()
        self._thread = threading.Thread(target=self._run, name="history", daemon=True)

    def start(self) -> None:
        """Start sending."""
        self._thread.start()

    def wake(self) -> None:
        """Say that something new is stored."""
        self._woken.set()

    def stop(self) -> None:
        """Stop; what is not sent by now is sent after the next start."""
        self._stopping.set()
        self._woken.set()
        self._thread.join(STOP_WITHIN_S)
        if not self._thread.is_alive():
            self._reader.close()

    @property
    def alive(self) -> bool:
        """Whether the thread runs."""
        return self._thread.is_alive()

    def _run(self) -> None:
        while not self._stopping.is_set():
            try:
                self._follow()
            except Exception as error:  # the thread must outlive a journal that cannot be read just now
                log.exception("history cannot be sent now; trying again in %.0f s", LONGEST_RETRY_S / 10)
                self.failing = f"{type(error).__name__}: {error}"
                self._stopping.wait(LONGEST_RETRY_S / 10)

    def _follow(self) -> None:
        retry_s = FIRST_RETRY_S
        with InfluxDBClient(
            url=self._config.url,
            token=self._config.token.get_secret_value(),
            org=self._config.org,
            timeout=round(self._config.timeout_s * 1000),
            enable_gzip=True,
        ) as client:
            writing = client.write_api(write_options=SYNCHRONOUS)
            seq = self._cursor()
            while not self._stopping.is_set():
                lines, last_seq = self._next_points(seq)
                if not lines:
                    self._woken.wait(IDLE_S)
                    self._woken.clear()
                    continue
                try:
                    writing.write(self._config.bucket, record=lines, write_precision=WritePrecision.MS)
                except (ApiException, HTTPError, OSError) as error:
                    self._note(f"{type(error).__name__}: {getattr(error, 'reason', None) or error}")
                    self._stopping.wait(retry_s)
                    retry_s = min(2 * retry_s, LONGEST_RETRY_S)
                    continue
                retry_s = FIRST_RETRY_S
                self._note(None)
                seq = last_seq
                self._move_cursor(seq)

    def _cursor(self) -> int:
        row = self._reader.row("SELECT seq FROM cursor WHERE name = ?", (CURSOR,))
        return 0 if row is None else int(row[0])

    def _next_points(self, seq: int) -> tuple[list[str], int]:
        rows = self._reader.rows(
            "SELECT r.seq, s.vessel, s.sensor, r.event_ms, r.value, r.flag FROM reading r JOIN series s"
            f" ON s.id = r.series WHERE r.seq > ? AND r.mark & {NOT_NEWS} = 0 ORDER BY r.seq LIMIT {MOST_POINTS}",
            (seq,),
        )
        lines = [
            # Ids are slugs, so nothing in them needs escaping.
            f"reading,yard={self._yard},vessel={vessel},sensor={sensor} value={value!r},flag={flag}i {at_ms}"
            for _, vessel, sensor, at_ms, value, flag in rows
        ]
        return lines, int(rows[-1][0]) if rows else seq

    def _note(self, trouble: str | None) -> None:
        if trouble is not None and self.failing is None:
            log.warning("history cannot be sent to %s (%s); it is tried again", self._config.url, trouble)
        elif trouble is None and self.failing is not None:
            log.warning("history is sent to %s again", self._config.url)
        self.failing = trouble
