"""Whose turn it is among the notices that wait for a channel, and who has waited long enough."""

from collections.abc import Callable, Collection

from monitor.model.outbox import Outbox, Waiting
from monitor.model.people import ChannelKind
from monitor.notify.outages import Outages

AT_ONCE = 50
# How much further to look where all that was found is in hand or waits for a server.
FURTHER = 4
_HOUR_S = 3_600.0
_DAY_S = 24 * _HOUR_S


class Turns:
    """Takes from an outbox what can be sent now, past what waits for a server that cannot be used.

    Args:
        channel: whose notices.
        outbox: what waits.
        outages: which servers cannot be used.
        server: names the server a notice goes through.
    """

    def __init__(
        self, channel: ChannelKind, outbox: Outbox, outages: Outages, server: Callable[[Waiting], str]
    ) -> None:
        self._channel, self._outbox, self._outages, self._server = channel, outbox, outages, server
        self._first_ms: dict[str, int] = {}

    def due(self, in_hand: Collection[str], now_ms: int) -> tuple[list[Waiting], list[tuple[Waiting, str]]]:
        """Give what can be sent now, and what has waited too long for its server, with why it is given up.

        What was tried less often comes first, so that no message that always fails stands before all the others.
        """
        if self._channel is ChannelKind.EMAIL and self._outages.holding("", now_ms) is not None:
            return [], []
        limit = AT_ONCE + len(in_hand)
        while True:
            found = self._outbox.waiting(self._channel.value, now_ms, limit)
            due, expired = [], []
            for waiting in (w for w in found if w.notice.id not in in_hand):
                self._first_ms.setdefault(waiting.notice.id, now_ms)
                outage = self._outages.holding(self._server(waiting), now_ms)
                if outage is None:
                    due.append(waiting)
                elif reason := self.expired(waiting, outage.reason, outage.give_up_after_s, now_ms):
                    expired.append((waiting, reason))
            if due or expired or len(found) < limit:
                return sorted(due, key=lambda waiting: waiting.tries)[:AT_ONCE], expired
            limit *= FURTHER

    def expired(self, waiting: Waiting, reason: str, after_s: float | None, now_ms: int) -> str:
        """Say why a notice is not to be tried again, empty where it is."""
        first_ms = self._first_ms.setdefault(waiting.notice.id, now_ms)
        if after_s is None or (now_ms - first_ms) / 1000 < after_s:
            return ""
        return f"it could not be sent for {_span(after_s)}: {reason}"

    def forget(self, waiting: Waiting) -> None:
        """Forget a notice that is done."""
        self._first_ms.pop(waiting.notice.id, None)


def _span(span_s: float) -> str:
    return f"{span_s / _DAY_S:.0f} days" if span_s > _DAY_S else f"{span_s / _HOUR_S:.0f} hours"
