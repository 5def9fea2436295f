"""Which vessels changed, told from the writer's thread to every open page.

Bounded and coalescing: it keeps one number a vessel, the seq at which she last changed. A page that fell behind, or
comes back, is told each vessel that changed since, once.
"""

import asyncio
import threading
from collections.abc import AsyncIterator, Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Change:
    """What a page is told.

    Attributes:
        seq: up to which input this is.
        vessels: ids of the vessels that changed.
        everything: True where the page came back from before what is remembered: it must fetch all again.
    """

    seq: int
    vessels: tuple[str, ...]
    everything: bool = False


class Changes:
    """The hub: `publish` from any thread, `follow` from any event loop."""

    def __init__(self, seq: int = 0) -> None:
        self._lock = threading.Lock()
        self._from = self._seq = seq
        self._changed_at: dict[str, int] = {}
        self._sleepers: set[_Sleeper] = set()
        self._closed = False

    @property
    def seq(self) -> int:
        """The seq of the last change."""
        return self._seq

    @property
    def followers(self) -> int:
        """How many are waiting for a change now."""
        return len(self._sleepers)

    def changed_at(self, vessel: str) -> int:
        """Give the seq at which a vessel last changed; that of the start where she has not since."""
        return self._changed_at.get(vessel, self._from)

    def publish(self, seq: int, vessels: Iterable[str]) -> None:
        """Tell that these vessels changed, up to this seq. Never waits for anybody."""
        with self._lock:
            self._seq = max(self._seq, seq)
            for vessel in vessels:
                self._changed_at[vessel] = seq
            self._wake()

    def close(self) -> None:
        """End every stream, so that a server can stop."""
        with self._lock:
            self._closed = True
            self._wake()

    def follow(self, since: int | None, *, at_least_s: float, beat_s: float) -> AsyncIterator[Change]:
        """Give what changes, from now on or since a seq.

        Args:
            since: the seq the page has seen, None where it has just been made.
            at_least_s: least time between two changes; what happens meanwhile is told together.
            beat_s: without changes, an empty one is given this often.
        """
        return self._follow(self._seq if since is None else since, at_least_s, beat_s)

    async def _follow(self, seen: int, at_least_s: float, beat_s: float) -> AsyncIterator[Change]:
        while not self._closed:
            change = self._since(seen)
            if change is not None:
                seen = change.seq
                yield change
                await self._sleep(at_least_s, until_change=False)
            elif not await self._sleep(beat_s, until_change=True, seen=seen):
                yield Change(seen, ())

    def _since(self, seen: int) -> Change | None:
        with self._lock:
            if seen < self._from or seen > self._seq:
                return Change(self._seq, (), everything=True)
            if seen == self._seq:
                return None
            return Change(self._seq, tuple(sorted(v for v, at in self._changed_at.items() if at > seen)))

    async def _sleep(self, for_s: float, *, until_change: bool, seen: int = 0) -> bool:
        """Sleep for a time, less where it is closed or (asked for) changed; say whether it was woken."""
        sleeper = _Sleeper(asyncio.get_running_loop(), asyncio.Event(), until_change)
        with self._lock:
            if self._closed or (until_change and self._seq > seen):
                return True
            self._sleepers.add(sleeper)
        try:
            await asyncio.wait_for(sleeper.event.wait(), for_s)
        except TimeoutError:
            return self._closed
        finally:
            with self._lock:
                self._sleepers.discard(sleeper)
        return True

    def _wake(self) -> None:
        woken = {s for s in self._sleepers if s.until_change or self._closed}
        self._sleepers -= woken
        for sleeper in woken:
            if not sleeper.loop.is_closed():
                sleeper.loop.call_soon_threadsafe(sleeper.event.set)


@dataclass(frozen=True, eq=False, slots=True)
class _Sleeper:
    """One stream, asleep."""

    loop: asyncio.AbstractEventLoop
    event: asyncio.Event
    until_change: bool
