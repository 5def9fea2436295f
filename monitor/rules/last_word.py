"""What was told of a thing last, and until when its alert waits once that is over.

Through an off-delay an alert would go on with its last words. A rule that keeps them says instead, with a finding that
is `over`, what is so now and when the alert clears.
"""

from dataclasses import dataclass

from monitor.model.finding import Finding
from monitor.model.scale import Priority


@dataclass(slots=True)
class LastWord:
    """What was told of a thing last.

    Attributes:
        kind, priority, off_ms, on_ms: the finding's kind, its priority and its delays.
        latches: whether somebody has to look at it, though it is over.
        ended_ms: when it was no longer so, None while it is.
    """

    kind: str
    priority: Priority
    off_ms: int
    on_ms: int = 0
    latches: bool = False
    ended_ms: int | None = None

    @property
    def ends_ms(self) -> int | None:
        """When it has been over for long enough, None while it is not over."""
        return None if self.ended_ms is None else self.ended_ms + self.off_ms

    def waits(self, now_ms: int) -> bool:
        """Say whether its alert still waits, now that it is no longer so: it is over from the first asking on."""
        if self.ended_ms is None:
            self.ended_ms = now_ms
        return now_ms < self.ended_ms + self.off_ms


def last_word(finding: Finding) -> LastWord:
    """Keep what is needed of what is told now, to say of it later that it is over."""
    return LastWord(finding.kind, finding.priority, finding.off_delay_ms, finding.on_delay_ms, finding.latches)
