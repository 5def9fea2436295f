"""Bring a file to the present form: numbered SQL files, each once, each in its own transaction."""

import re
import sqlite3
from importlib import resources
from importlib.abc import Traversable

_NAME = re.compile(r"(\d{4})_\w+\.sql")
_JOURNALS = "migrations"


class JournalTooNewError(Exception):
    """The journal was written by a newer program than this one."""


def migrate(connection: sqlite3.Connection, folder: str = _JOURNALS, what: str = "journal") -> None:
    """Apply the migrations that a file has not had yet (SQLite's ``user_version`` counts them).

    Args:
        connection: to the file.
        folder: of this package, with the migrations of such files.
        what: what such a file is called.

    Raises:
        JournalTooNewError: where the file has had more than this program knows.
    """
    steps = sorted(_steps(folder), key=lambda step: step[0])
    (done,) = connection.execute("PRAGMA user_version").fetchone()
    if steps and done > steps[-1][0]:
        raise JournalTooNewError(
            f"the {what} is of form {done}, this program knows forms up to {steps[-1][0]}: run the newer program"
        )
    for number, file in steps:
        if number > done:
            connection.executescript(f"BEGIN;\n{file.read_text('utf-8')}\nPRAGMA user_version = {number};\nCOMMIT;")


def known_form() -> int:
    """Give the newest form of a journal that this program knows."""
    return max(number for number, _ in _steps())


def _steps(folder: str = _JOURNALS) -> list[tuple[int, Traversable]]:
    files = (resources.files("monitor.store") / folder).iterdir()
    named = [(_NAME.fullmatch(file.name), file) for file in files]
    return [(int(match[1]), file) for match, file in named if match is not None]
