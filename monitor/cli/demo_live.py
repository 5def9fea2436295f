"""Says once on the terminal that the demo's haste is over."""

import sys
from dataclasses import dataclass


@dataclass(slots=True)
class LiveLine:
    """The line that is printed when the demo goes at the pace of the clock.

    Attributes:
        live_from_ms: when it does; None where it never does.
        is_said: whether it was printed.
    """

    live_from_ms: int | None
    is_said: bool = False

    def at(self, now_ms: int) -> None:
        """Print it where its time has come, and never again."""
        if self.is_said or self.live_from_ms is None or now_ms < self.live_from_ms:
            return
        self.is_said = True
        print("\nlive:   the winter goes at the pace of your clock now", file=sys.stderr, flush=True)
