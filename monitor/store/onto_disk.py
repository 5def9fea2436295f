"""Has what was written reach the disk itself: the bytes of a file, and the names in a folder."""

import os
from pathlib import Path


def sync_file(path: Path) -> None:
    """Return once a file's bytes are on the disk."""
    _sync(path)


def sync_folder(path: Path) -> None:
    """Return once the names in a folder are on the disk, so that a power cut undoes no renaming."""
    _sync(path)


def _sync(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
