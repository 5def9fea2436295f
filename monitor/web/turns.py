"""What is done one after another, each kind of thing by itself."""

import asyncio
from weakref import WeakValueDictionary


class Turns:
    """Turns of those who do the same thing at once: the next begins when the one before has ended."""

    def __init__(self) -> None:
        self._turns: WeakValueDictionary[str, asyncio.Lock] = WeakValueDictionary()

    def of(self, what: str) -> asyncio.Lock:
        """Give the turn to do something; whoever waits for it keeps it alive."""
        turn = self._turns.get(what)
        if turn is None:
            turn = self._turns[what] = asyncio.Lock()
        return turn
