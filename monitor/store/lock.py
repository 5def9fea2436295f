"""One writer: a lock beside the journal, and in it the address at which its holder takes commands."""

import fcntl
import os
from pathlib import Path

from monitor.store.owner import belongs_like


class JournalBusyError(Exception):
    """Another process writes the journal.

    Attributes:
        address: where it takes commands; empty where it said nothing.
    """

    def __init__(self, path: Path, address: str) -> None:
        where = f", pages at {address}" if address else ""
        super().__init__(f"{path} is written by another process{where}: stop that one, or send it what you want done")
        self.address = address


class WriterLock:
    """Held by the one process that writes a journal; it falls when the process ends, however it ends."""

    def __init__(self, journal: Path) -> None:
        """Take the lock.

        Raises:
            JournalBusyError: where another process holds it.
            OSError: where the folder cannot be written.
        """
        path = journal.with_name(journal.name + ".lock")
        self._file = os.open(path, os.O_RDWR | os.O_CREAT, 0o600)
        belongs_like(path, journal.parent)
        try:
            fcntl.flock(self._file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:
            address = os.read(self._file, 4096).decode("utf-8", "replace").strip()
            os.close(self._file)
            raise JournalBusyError(journal, address) from error
        self.tell("")

    def tell(self, address: str) -> None:
        """Leave word where commands are taken."""
        os.ftruncate(self._file, 0)
        os.pwrite(self._file, address.encode(), 0)

    def release(self) -> None:
        """Let go."""
        os.ftruncate(self._file, 0)
        os.close(self._file)
