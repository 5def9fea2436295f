"""The line of one sender: a connection that is opened when it is first needed, and left when a turn has ended."""

import logging
from collections.abc import Callable
from typing import Generic, TypeVar

from monitor.notify.connection import Connection

log = logging.getLogger(__name__)

MessageT = TypeVar("MessageT")


class Line(Generic[MessageT]):
    """A connection, or none.

    Args:
        connect: opens a connection, or raises `UnreachableError`.
    """

    def __init__(self, connect: Callable[[], Connection[MessageT]]) -> None:
        self._connect = connect
        self._connection: Connection[MessageT] | None = None

    def open(self) -> Connection[MessageT]:
        """Give the connection, opened where there is none.

        Raises:
            UnreachableError: where there is none to be had.
        """
        if self._connection is None:
            self._connection = self._connect()
        return self._connection

    def leave(self) -> None:
        """Take leave, where there is a connection."""
        connection, self._connection = self._connection, None
        if connection is None:
            return
        try:
            connection.close()
        except Exception:  # what was handed over has been taken, whatever comes of taking leave
            log.exception("a connection cannot be closed")

    def abort(self) -> None:
        """Cut the line, from any thread."""
        connection = self._connection
        if connection is not None:
            connection.abort()
