"""What gateways have sent and the broker has not acknowledged yet: all of it in one order, each gateway's part bounded.

It is a gateway's own store-and-forward: what a broker that was away has missed is sent again, oldest first; a full
store drops its oldest and counts it.
"""

from collections import deque
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Letter:
    """A message to the broker.

    Attributes:
        topic: its topic.
        payload: its payload.
        weight: what it counts for when it is acknowledged: how many readings it holds.
        gateway: whose store it lies in; empty for what no gateway sends (clock messages), which is kept without bound.
        retain: whether the broker is to keep it for those who come later.
    """

    topic: str
    payload: bytes
    weight: int
    gateway: str
    retain: bool


class Outbox:
    """All gateways' stores.

    Attributes:
        dropped: how many messages full stores have dropped.
    """

    def __init__(self, store: int | None = None) -> None:
        """Make them.

        Args:
            store: how many unacknowledged messages each gateway keeps; None for all.
        """
        if store is not None and store < 1:
            raise ValueError(f"store is {store}; a gateway keeps at least 1 message")
        self.dropped = 0
        self._store = store
        self._serial = 0
        self._letters: dict[int, Letter] = {}
        self._of: dict[str, dict[int, None]] = {}
        self._unsent: deque[int] = deque()

    def __len__(self) -> int:
        """How many messages are not acknowledged yet."""
        return len(self._letters)

    def is_full(self, gateway: str) -> bool:
        """Whether a gateway's next message would push out its oldest."""
        return self._store is not None and len(self._of.get(gateway, ())) >= self._store

    def put(self, letter: Letter) -> None:
        """Take a message; its gateway's oldest one goes where its store is full."""
        self._serial += 1
        self._letters[self._serial] = letter
        self._unsent.append(self._serial)
        if self._store is None or not letter.gateway:
            return
        mine = self._of.setdefault(letter.gateway, {})
        mine[self._serial] = None
        if len(mine) > self._store:
            oldest = next(iter(mine))
            del mine[oldest], self._letters[oldest]
            self.dropped += 1

    def next(self) -> tuple[int, Letter] | None:
        """Give the oldest message not sent on this connection, with its number, and take it for sent."""
        while self._unsent:
            serial = self._unsent.popleft()
            letter = self._letters.get(serial)
            if letter is not None:
                return serial, letter
        return None

    def begin_again(self) -> None:
        """Take everything for unsent: there is a new connection."""
        self._unsent = deque(self._letters)

    def acknowledge(self, serial: int) -> int:
        """Let go of a message, and give its weight; 0 where it was dropped meanwhile."""
        letter = self._letters.pop(serial, None)
        if letter is None:
            return 0
        if letter.gateway in self._of:
            del self._of[letter.gateway][serial]
        return letter.weight
