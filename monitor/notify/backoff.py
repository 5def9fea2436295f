"""How long to wait before trying again: doubling, bounded, and spread so that not all come back at once."""

import hashlib
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Backoff:
    """Waits that double from ``first_s`` to ``longest_s``."""

    first_s: float
    longest_s: float

    def after_s(self, tries: int, key: str) -> float:
        """Give the wait after so many failed tries: between half and the whole of the doubled time.

        Where in between follows from the key and the tries, so that it is the same whenever it is asked.

        >>> wait = Backoff(first_s=5, longest_s=300)
        >>> [round(wait.after_s(tries, "a"), 1) for tries in (1, 2, 3, 20)]
        [2.6, 8.3, 18.8, 238.3]
        """
        whole = min(self.first_s * 2.0 ** min(max(tries - 1, 0), 60), self.longest_s)
        digest = hashlib.sha256(f"{key}\0{tries}".encode()).digest()
        return whole * (0.5 + int.from_bytes(digest[:4]) / 2**33)
