"""How often somebody may try to sign in: the more often it failed, the longer the next try waits."""

import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field

FREE_TRIES = 5
"""NIST SP 800-63B-4, section 3.2.2, asks for a bound of at most 100 tries in a row; waits after five keep far below."""
LONGEST_WAIT_S = 60.0
"""Whoever guesses somebody's password must not lock them out for long: 60 a hour guess no password of 15 characters."""
ADDRESS_TRIES = 20
"""More than of one login: a yard's telephones may share an address."""
MOST_AT_ONCE = 12
"""So many tries wait for their slow hash at once, of the forty threads that answer the pages; others are sent away."""
LONGEST_ADDRESS_WAIT_S = 10.0
"""Strangers behind the same router must not keep the yard out for longer."""
FORGOTTEN_AFTER_S = 3_600.0
MOST_KEPT = 10_000
"""So many names and addresses are kept, the oldest forgotten first: memory must not grow with what strangers send."""


@dataclass(slots=True)
class _Failures:
    count: int
    last_s: float


class Throttle:
    """Counts failed tries by a key, such as a login or an address.

    Args:
        monotonic_s: a clock that never goes back.
        free: so many failures cost nothing.
        longest_s: no try waits longer.
    """

    def __init__(
        self, monotonic_s: Callable[[], float], free: int = FREE_TRIES, longest_s: float = LONGEST_WAIT_S
    ) -> None:
        self._monotonic_s, self._free, self._longest_s = monotonic_s, free, longest_s
        self._failures: OrderedDict[str, _Failures] = OrderedDict()
        self._lock = threading.Lock()

    def wait_s(self, key: str) -> float:
        """Give how long the next try has to wait; 0 where it need not."""
        with self._lock:
            found = self._failures.get(key)
            if found is None:
                return 0.0
            since_s = self._monotonic_s() - found.last_s
            if since_s > FORGOTTEN_AFTER_S:
                del self._failures[key]
                return 0.0
            if found.count < self._free:
                return 0.0
            wait_s = min(2.0 ** min(found.count - self._free, 30), self._longest_s)
            return max(wait_s - since_s, 0.0)

    def failed(self, key: str) -> None:
        """Note a try that failed."""
        with self._lock:
            found = self._failures.setdefault(key, _Failures(0, 0.0))
            found.count, found.last_s = found.count + 1, self._monotonic_s()
            self._failures.move_to_end(key)
            while len(self._failures) > MOST_KEPT:
                self._failures.popitem(last=False)

    def succeeded(self, key: str) -> None:
        """Forget the failures of a key."""
        with self._lock:
            self._failures.pop(key, None)


@dataclass(frozen=True, slots=True)
class Tries:
    """What one server remembers of those who tried to sign in."""

    logins: Throttle = field(default_factory=lambda: Throttle(time.monotonic))
    addresses: Throttle = field(default_factory=lambda: Throttle(time.monotonic, ADDRESS_TRIES, LONGEST_ADDRESS_WAIT_S))
    room: threading.BoundedSemaphore = field(default_factory=lambda: threading.BoundedSemaphore(MOST_AT_ONCE))

    def wait_s(self, login: str, address: str) -> float:
        """Give how long the next try has to wait; 0 where it need not."""
        return max(self.logins.wait_s(login), self.addresses.wait_s(address))

    def failed(self, login: str, address: str) -> None:
        """Note a try that failed."""
        self.logins.failed(login)
        self.addresses.failed(address)
