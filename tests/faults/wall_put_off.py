"""The wall clock of the agent's machine, put forward or back by a test (see with_wall.py)."""

import sys
from pathlib import Path

import pytest

LAUNCHER = [sys.executable, str(Path(__file__).with_name("with_wall.py"))]


class Wall:
    """How far the wall clock is off, which stands in a file."""

    def __init__(self, path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setenv("COLDBERTH_TEST_WALL", str(path))
        self._path = path
        self.put_off(0)

    def put_off(self, ms: int) -> None:
        beside = self._path.with_name("wall.new")
        beside.write_text(str(ms))
        beside.replace(self._path)  # whole: it is read at any moment
