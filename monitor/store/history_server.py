"""Writes points to a server with the InfluxDB v2 write API, and says plainly what has become of them.

In synchronous batches: the client's own batching mode drops what it holds when it gives up.
"""

import time
from collections.abc import Callable
from typing import Any, Self

from influxdb_client.client.influxdb_client import InfluxDBClient
from influxdb_client.client.write_api import SYNCHRONOUS
from influxdb_client.domain.write_precision import WritePrecision
from influxdb_client.rest import ApiException
from urllib3.exceptions import HTTPError

from monitor.store.history_config import HistoryConfig

BAD_REQUEST, TOO_LARGE, UNPROCESSABLE = 400, 413, 422
LONGEST_REASON = 200


class NotTakenError(Exception):
    """Points that the server did not take. Its text says why.

    Attributes:
        gone: whether no answer came, so that the server may have lost what it took just before.
    """

    def __init__(self, reason: str, *, gone: bool) -> None:
        super().__init__(reason)
        self.gone = gone


class _RefusedError(Exception):
    """The server finds fault with what it was sent."""


class HistoryServer:
    """A connection to the server; a context manager.

    Attributes:
        connections: how often it has connected: a rise may mean that the server was started anew.
        refused: how many points it has found fault with.
    """

    def __init__(self, config: HistoryConfig, yard: str) -> None:
        self.connections = 0
        self.refused = 0
        self._bucket = config.bucket
        self._yard = yard
        self._client: Any = InfluxDBClient(  # the client leaves much of itself without types
            url=config.url.rstrip("/"),
            token=config.token.get_secret_value(),
            org=config.org,
            timeout=round(config.timeout_s * 1000),
            enable_gzip=True,
        )
        self._count_connections(self._client.api_client.rest_client.pool_manager.connection_from_url(config.url))
        self._writing: Any = self._client.write_api(write_options=SYNCHRONOUS)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._client.close()

    def write(self, lines: list[str], refused: Callable[[str, str], None]) -> None:
        """Write points; those the server finds fault with are found by halving, named, and passed by.

        Args:
            lines: the points.
            refused: told of each point passed by, and why.

        Raises:
            NotTakenError: where the server did not take the others.
        """
        try:
            self._put(lines)
        except _RefusedError as error:
            bad = self._halve(lines, error)
            if len(bad) == len(lines):
                self._see_that_it_takes_any(error)
            for line, reason in bad:
                self.refused += 1
                refused(line, reason)

    def _halve(self, lines: list[str], error: _RefusedError) -> list[tuple[str, str]]:
        if len(lines) == 1:
            return [(lines[0], str(error))]
        bad: list[tuple[str, str]] = []
        middle = len(lines) // 2
        for part in (lines[:middle], lines[middle:]):
            try:
                self._put(part)
            except _RefusedError as again:
                bad += self._halve(part, again)
        return bad

    def _see_that_it_takes_any(self, error: _RefusedError) -> None:
        """Hold that it is the points that are bad: one of now that is known to be good is taken."""
        try:
            self._put([f"probe,yard={self._yard} taken=1i {time.time_ns() // 1_000_000}"])
        except _RefusedError:
            raise NotTakenError(str(error), gone=False) from error

    def _put(self, lines: list[str]) -> None:
        try:
            self._writing.write(self._bucket, record=lines, write_precision=WritePrecision.MS)
        except ApiException as error:
            status = error.status
            said = " ".join(str(getattr(error, "message", "") or error.body or error.reason or "").split())
            reason = f"it answered {status}: {said[:LONGEST_REASON]}" if status else f"{type(error).__name__}: {said}"
            if status in {BAD_REQUEST, TOO_LARGE, UNPROCESSABLE}:
                raise _RefusedError(reason) from error
            raise NotTakenError(reason, gone=not status) from error
        except (HTTPError, OSError) as error:
            raise NotTakenError(f"{type(error).__name__}: {error}"[:LONGEST_REASON], gone=True) from error

    def _count_connections(self, pool: Any) -> None:  # noqa: ANN401 - the client leaves it without a type
        plain = pool.ConnectionCls

        def connect(connection: object) -> None:
            self.connections += 1
            plain.connect(connection)

        # Of urllib3 as it documents it; a connection that was dropped is made anew without a word.
        pool.ConnectionCls = type("CountedConnection", (plain,), {"connect": connect})
