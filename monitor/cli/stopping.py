"""Ctrl-C and SIGTERM as something to look at, for commands that have to end in good order."""

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

EXIT_INTERRUPTED = 130


@contextmanager
def stops_on_signal(stop: threading.Event) -> Iterator[None]:
    """Let Ctrl-C and SIGTERM set the event instead of tearing through the start and the shutdown."""

    def ask(_number: int, _frame: FrameType | None) -> None:
        stop.set()

    before = {number: signal.signal(number, ask) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
