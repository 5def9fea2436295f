"""What changed, kept as it was made: of a yard that many look at, nothing has happened since the last look mostly."""

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import Generic, TypeVar

KEPT_AT_MOST = 200
"""So many who look, each with their own last look."""

ThingT = TypeVar("ThingT")


class KeptSince(Generic[ThingT]):
    """What was made last, by who asked for what; the least asked for is let go. Any thread may ask."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._kept: OrderedDict[Hashable, tuple[Hashable, ThingT]] = OrderedDict()

    def get(self, asked: Hashable, as_of: Hashable, make: Callable[[], ThingT]) -> ThingT:
        """Give what was asked for, made again where it is of another time.

        Args:
            asked: who asks for what.
            as_of: what must be the same, so that it can be the same.
            make: makes it.
        """
        with self._lock:
            kept = self._kept.get(asked)
            if kept is not None and kept[0] == as_of:
                self._kept.move_to_end(asked)
                return kept[1]
        made = make()
        with self._lock:
            self._kept[asked] = (as_of, made)
            self._kept.move_to_end(asked)
            while len(self._kept) > KEPT_AT_MOST:
                self._kept.popitem(last=False)
        return made
