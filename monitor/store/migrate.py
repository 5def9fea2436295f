"""Bring a journal file to the present form: numbered SQL files, each once, each in its own transaction."""

import re
import sqlite3
from importlib import resources
from importlib.abc import Traversable

_NAME = re.compile(r"(\d{4})_\w+\.sql")


class JournalTooNewError(Exception):
    """The journal was written by a newer program than this one."""


def migrate(connection: sqlite3.Connection) -> None:
    """Apply the migrations that the journal has not had yet (SQLite's ``user_version`` counts them).

    Raises:
        JournalTooNewError: where the journal has had more than this program knows.
    """
    steps = sorted(_steps(), key=lambda step: step[0])
    (done,) = connection.execute("PRAGMA user_version").fetchone()
    if steps and done > steps[-1][0]:
        raise JournalTooNewError(
            f"the journal is of form {done}, this program knows forms up to {steps[-1][0]}: run the newer program"
        )
    for number, file in steps:
        if number > done:
            connection.executescript(f"BEGIN;\n{file.read_text('utf-8')}\nPRAGMA user_version = {number};\nCOMMIT;")


def _steps() -> list[tuple[int, Traversable]]:
    folder = resources.files("monitor.store") / "migrations"
    named = [(_NAME.fullmatch(file.name), file) for file in folder.iterdir()]
    return [(int(match[1]), file) for match, file in named if match is not None]
