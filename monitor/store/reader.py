"""Read-only connections over the journal's file, one a thread: a reader sees what is committed and blocks nobody."""

import sqlite3
import threading
from pathlib import Path
from typing import Any

Row = tuple[Any, ...]


class Reader:
    """Asks the journal's file; usable from any thread."""

    def __init__(self, path: Path) -> None:
        self._uri = f"{path.resolve().as_uri()}?mode=ro"
        self._own = threading.local()
        self._all: list[sqlite3.Connection] = []
        self._lock = threading.Lock()
        self._closed = False

    def rows(self, query: str, arguments: tuple[object, ...] = ()) -> list[Row]:
        """Give every row a query finds."""
        return self._connection().execute(query, arguments).fetchall()

    def row(self, query: str, arguments: tuple[object, ...] = ()) -> Row | None:
        """Give the first row a query finds, None where it finds none."""
        found: Row | None = self._connection().execute(query, arguments).fetchone()
        return found

    def close(self) -> None:
        """Close every connection; asking again after it is an error."""
        with self._lock:
            self._closed = True
            while self._all:
                self._all.pop().close()

    def _connection(self) -> sqlite3.Connection:
        known: sqlite3.Connection | None = getattr(self._own, "connection", None)
        if known is not None:
            return known
        with self._lock:
            if self._closed:
                raise sqlite3.ProgrammingError("the journal's readers have been closed")
            made = sqlite3.connect(self._uri, uri=True, isolation_level=None, timeout=5.0, check_same_thread=False)
            made.execute("PRAGMA query_only=ON")
            self._all.append(made)
        self._own.connection = made
        return made
