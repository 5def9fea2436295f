"""An open way to whoever takes messages, and the four ways in which a message is not taken.

- `RefusedError`: this message will never be taken; trying again is of no use.
- `GoneError`: its address is gone for good, and no other message will be taken there either.
- `NotNowError`: this message was not taken now; another may be.
- `UnreachableError`: the server cannot be used now, for no fault of the message. A refused login or sender is one of
  these: somebody mends the settings or the server, and what waited is then sent.
"""

from typing import Protocol, TypeVar

from monitor.model.outbox import Waiting

MessageT = TypeVar("MessageT")


class RefusedError(Exception):
    """The message will never be taken."""


class GoneError(RefusedError):
    """The address is gone for good."""


class NotNowError(Exception):
    """The message was not taken now.

    Args:
        reason: why, in words that may be shown.
        give_up_after_s: for how long after its first turn it is tried again, None for as long as it takes.
    """

    def __init__(self, reason: str, give_up_after_s: float | None = None) -> None:
        super().__init__(reason)
        self.give_up_after_s = give_up_after_s


class UnreachableError(Exception):
    """The server cannot be used now.

    Args:
        reason: why, in words that may be shown.
        give_up_after_s: for how long after its first turn a notice is tried again, None for as long as it takes.
        after_s: not to be tried again sooner, where the server said so itself.
    """

    def __init__(self, reason: str, give_up_after_s: float | None = None, after_s: float = 0.0) -> None:
        super().__init__(reason)
        self.give_up_after_s, self.after_s = give_up_after_s, after_s


class Connection(Protocol[MessageT]):
    """An open way to whoever takes messages."""

    def plain(self, waiting: Waiting, at_ms: int) -> MessageT:
        """Write a notice in plain words, dated by the given time (ms UTC), where it cannot be written as usual.

        Raises:
            ValueError: where the address cannot stand in a message, or there is nothing to tell.
        """
        ...

    def send(self, message: MessageT) -> None:
        """Hand a message over.

        Raises:
            RefusedError: never.
            NotNowError: not now.
            UnreachableError: not now, and no other message to the same server either.
        """
        ...

    def close(self) -> None:
        """Take leave."""
        ...

    def abort(self) -> None:
        """Cut the line, from any thread: a call that waits for the server then ends."""
        ...
