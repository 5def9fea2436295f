"""What a sender has done and what stands in its way, for pages and metrics."""

from dataclasses import dataclass


@dataclass(slots=True)
class Progress:
    """What the sender of one channel has done since it started.

    Attributes:
        sent: notices that were taken.
        refused: notices given up.
        failing: why something cannot be sent now, empty where nothing stands in the way.
        failing_since_ms: since when (wall time, ms UTC).
    """

    sent: int = 0
    refused: int = 0
    failing: str = ""
    failing_since_ms: int | None = None
