"""The messages of one channel as they are written: as usual, or in plain words where that fails by an error of ours."""

import logging
from collections import Counter
from collections.abc import Callable
from typing import Generic, TypeVar

from monitor.model.outbox import Waiting
from monitor.notify.connection import Connection, NotNowError, RefusedError

log = logging.getLogger(__name__)

USUAL_TRIES = 2
"""A journal that is busy for a moment may keep a picture from being drawn: so once more, half a minute later. What
fails twice fails for a reason of its own, and nobody is better off for waiting."""
MOST_FAULTS = 6
"""With the waits between tries, a quarter of an hour: what is wrong with the machine, such as too many open files, has
passed by then or is everybody's trouble. Kept for longer, it would keep from its reader all that has happened since."""

MessageT = TypeVar("MessageT")


class Writing(Generic[MessageT]):
    """Writes messages, and counts the errors of ours that each has met since the start.

    Args:
        write: writes a notice's message as usual, dated by the given time (ms UTC).
    """

    def __init__(self, write: Callable[[Waiting, int], MessageT]) -> None:
        self._write = write
        self._faults: Counter[str] = Counter()

    def message(self, waiting: Waiting, connection: Connection[MessageT], at_ms: int) -> MessageT:
        """Write a notice's message, in plain words where it fails as usual.

        Any other error is one of ours, for which it is tried again.

        Raises:
            RefusedError: where it cannot be written in plain words either.
        """
        key, why = waiting.notice.id, None
        if self._faults[key] < USUAL_TRIES:
            try:
                return self._write(waiting, at_ms)
            except ValueError as error:
                # It says of itself that it cannot be written, and will again.
                log.warning("notice %s cannot be written as usual: %s", key, error, exc_info=True)
                why = error
            except Exception:
                if self._faults[key] + 1 < USUAL_TRIES:
                    raise
                log.exception("notice %s cannot be written as usual, and goes out in plain words", key)
        try:
            return connection.plain(waiting, at_ms)
        except ValueError as error:
            raise RefusedError(f"it cannot be written: {why or error}") from error

    def fault(self, waiting: Waiting, error: Exception) -> RefusedError | NotNowError:
        """Count an error of ours; say whether the notice is tried again, in words that may be shown.

        What the error itself says stands in the log alone: a service's keys may be part of it.
        """
        key = waiting.notice.id
        self._faults[key] += 1
        name, count = type(error).__name__, self._faults[key]
        if count >= MOST_FAULTS:
            return RefusedError(f"it could not be sent, by an error of ours ({name}), {count} times; the log says more")
        return NotNowError(f"it cannot be sent, by an error of ours ({name}); the log says more")

    def forget(self, waiting: Waiting) -> None:
        """Forget a notice that is done."""
        self._faults.pop(waiting.notice.id, None)
