"""The connections of the pages' server: so many, so many from one address, and none that never asks anything.

Without it whoever reaches the port can take every file handle of the agent, and with them its journal and its broker.
"""

import asyncio
from collections.abc import Collection

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

MOST = 600  # of all; the service has 1,024 file handles where nobody gave it more
MOST_OF_ONE_ADDRESS = 120  # a tablet at the gate with twenty pages open has as many
ASKS_WITHIN_S = 10.0
READS_ANSWER_WITHIN_S = 1.0  # closed at once, an answer may be lost that was sent already


class BoundedConnection(H11Protocol):
    """A connection that is closed at once where there are too many, and soon where no question comes of it."""

    most = MOST
    most_of_one_address = MOST_OF_ONE_ADDRESS
    proxies: frozenset[str] = frozenset()
    """A proxy of the yard's brings everybody by one address."""
    asks_within_s = ASKS_WITHIN_S
    reads_answer_within_s = READS_ANSWER_WITHIN_S

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]  # as uvicorn has it
        """Take a connection, or close it."""
        super().connection_made(transport)
        self._look = self.loop.call_later(self.asks_within_s, self._close_if_silent, None)
        if self._is_one_too_many():
            transport.abort()

    def connection_lost(self, exc: Exception | None) -> None:
        """Forget it."""
        self._look.cancel()
        super().connection_lost(exc)

    def on_response_complete(self) -> None:
        """Go on, or end it where the question's body was not asked for and still comes."""
        super().on_response_complete()
        if self.conn.their_state is h11.SEND_BODY:
            self.loop.call_later(self.reads_answer_within_s, self.transport.abort)

    def _is_one_too_many(self) -> bool:
        if len(self.connections) > self.most:
            return True
        address = self._address()
        if address in self.proxies:
            return False
        same: int = sum(isinstance(c, BoundedConnection) and c._address() == address for c in self.connections)  # noqa: SLF001 - its own kind
        return bool(same > self.most_of_one_address)

    def _address(self) -> str:
        return self.client[0] if self.client else ""

    def _close_if_silent(self, answered: object) -> None:
        """Close it where its question has not come whole since the last look, whose answer was ``answered``."""
        if self.conn.their_state is h11.IDLE and self.cycle is answered:
            self.transport.abort()
            return
        self._look = self.loop.call_later(self.asks_within_s, self._close_if_silent, self.cycle)


def bounded_behind(proxies: Collection[str]) -> type[BoundedConnection]:
    """Give the kind of connection for a server that these proxies stand before."""

    class Behind(BoundedConnection):
        """Bounded, but for the yard's own proxies."""

    Behind.proxies = frozenset(proxies)
    return Behind
