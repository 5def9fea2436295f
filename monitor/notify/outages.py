"""Which servers cannot be used just now, since when, and when each is worth another try."""

from collections.abc import Callable
from dataclasses import dataclass

from monitor.notify.backoff import Backoff
from monitor.notify.connection import UnreachableError


@dataclass(slots=True)
class Outage:
    """One server that cannot be used.

    Attributes:
        since_ms: when it was found so.
        until_ms: when it is tried again.
        wait_ms: how long that was from the last try.
        reason: why.
        give_up_after_s: for how long after its first turn a notice is tried, None for as long as it takes.
        tries: how often it was tried.
    """

    since_ms: int
    until_ms: int
    wait_ms: int
    reason: str
    give_up_after_s: float | None
    tries: int


class Outages:
    """The outages of one channel's servers, by a name for each server."""

    def __init__(self, backoff: Backoff, shown: Callable[[str], str]) -> None:
        self._backoff, self._shown = backoff, shown
        self._by_server: dict[str, Outage] = {}

    def note(self, server: str, error: UnreachableError, key: str, now_ms: int) -> Outage:
        """Note that a server cannot be used; ``key`` spreads the wait, so that not all who wait come back at once."""
        before = self._by_server.get(server)
        tries = 1 if before is None else before.tries + 1
        wait_s = max(self._backoff.after_s(tries, key), error.after_s)
        since_ms = now_ms if before is None else before.since_ms
        wait_ms = round(wait_s * 1000)
        outage = Outage(since_ms, now_ms + wait_ms, wait_ms, str(error), error.give_up_after_s, tries)
        self._by_server[server] = outage
        return outage

    def over(self, server: str) -> bool:
        """Note that a server answers; say whether it did not before."""
        return self._by_server.pop(server, None) is not None

    def holding(self, server: str, now_ms: int) -> Outage | None:
        """Give the outage for which a server is not to be tried now, None where it may be."""
        outage = self._by_server.get(server)
        return outage if outage is not None and self._waits(outage, now_ms) else None

    def next_try_ms(self, now_ms: int) -> int | None:
        """Give when the next of the servers that are not to be tried now may be tried, None where there is none."""
        return min((o.until_ms for o in self._by_server.values() if self._waits(o, now_ms)), default=None)

    def _waits(self, outage: Outage, now_ms: int) -> bool:
        # A wall that has been put back since must not make the wait longer than it was to be.
        return 0 < outage.until_ms - now_ms <= outage.wait_ms

    @property
    def reason(self) -> str:
        """Why something cannot be sent now, by the oldest outage; empty where nothing stands in the way."""
        if not self._by_server:
            return ""
        server, outage = min(self._by_server.items(), key=lambda item: item[1].since_ms)
        more = len(self._by_server) - 1
        named = f"{self._shown(server)}: {outage.reason}" if server else outage.reason
        return f"{named} (and {more} more)" if more else named

    @property
    def since_ms(self) -> int | None:
        """Since when something cannot be sent, None where nothing stands in the way."""
        return min((outage.since_ms for outage in self._by_server.values()), default=None)
