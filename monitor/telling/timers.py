"""When something of a call is next due, found without going through all of them."""

from heapq import heapify, heappop, heappush

from monitor.telling.state import OpenCall


class Timers:
    """For each call a time before which nothing of it is due; where it lies too early, whoever looks puts it right."""

    def __init__(self) -> None:
        self._heap: list[tuple[int, str]] = []
        self._bounds: dict[str, int] = {}

    def lower(self, call: OpenCall, at_ms: int | None) -> None:
        """Note that something of a call may be due at a time already."""
        if at_ms is not None and at_ms < self._bounds.get(call.id, at_ms + 1):
            self._bounds[call.id] = at_ms
            heappush(self._heap, (at_ms, call.id))

    def put(self, call: OpenCall, at_ms: int | None) -> None:
        """Note when something of a call is next due, None where nothing is."""
        self._bounds.pop(call.id, None)
        self.lower(call, at_ms)

    def first_ms(self) -> int | None:
        """Give the earliest of the times, None where there is none."""
        while self._heap and self._bounds.get(self._heap[0][1]) != self._heap[0][0]:
            heappop(self._heap)
        if len(self._heap) > 2 * len(self._bounds) + 64:  # mostly times that have been put right since
            self._heap = [(at_ms, key) for key, at_ms in self._bounds.items()]
            heapify(self._heap)
        return self._heap[0][0] if self._heap else None

    def take(self, to_ms: int) -> list[str]:
        """Take out the calls whose time is not after one."""
        taken = []
        while (at_ms := self.first_ms()) is not None and at_ms <= to_ms:
            _, key = heappop(self._heap)
            del self._bounds[key]
            taken.append(key)
        return taken
