"""Secrets by which somebody is known, kept as hashes: sessions, tokens for programs, links for owners, invitations."""

import hashlib
import json
import secrets
import sqlite3
import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from monitor.model.access import KeptSecret, Means
from monitor.store.transaction import transaction

_KEPT = "SELECT substr(hash, 1, 8), kind, login, name, vessels, made_ms, used_ms, ends_ms, owners FROM secret"


class Rows:
    """One connection, used by one thread at a time."""

    def __init__(self, db: sqlite3.Connection) -> None:
        self._db, self._lock = db, threading.Lock()

    def __call__(self, query: str, given: tuple[object, ...] = ()) -> list[tuple[Any, ...]]:
        """Run a query and give its rows."""
        with self._lock:
            return self._db.execute(query, given).fetchall()

    @contextmanager
    def transaction(self) -> Iterator[sqlite3.Connection]:
        """Commit what is done within, or nothing of it."""
        with self._lock, transaction(self._db):
            yield self._db


class Secrets:
    """The table of secrets."""

    def __init__(self, rows: Rows) -> None:
        self._rows = rows

    def make(
        self,
        kind: str,
        login: str | None,
        name: str,
        now_ms: int,
        ends_after_ms: int,
        vessels: frozenset[str] | None = None,
        owners: Mapping[str, str] | None = None,
    ) -> str:
        """Make a secret and give it, the only time that it can be read."""
        made = secrets.token_urlsafe(32)
        shows = None if vessels is None else json.dumps(sorted(vessels))
        whose = None if owners is None else json.dumps(dict(sorted(owners.items())))
        # Whoever signs in is there; anything else is used only once somebody comes by it.
        used_ms = now_ms if kind == Means.SESSION.value else 0
        with self._rows.transaction() as db:
            db.execute("DELETE FROM secret WHERE ends_ms <= ?", (now_ms,))
            db.execute(
                "INSERT INTO secret (hash, kind, login, name, vessels, made_ms, used_ms, ends_ms, owners)"
                " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
                (hashed(made), kind, login, name, shows, now_ms, used_ms, now_ms + ends_after_ms, whose),
            )
        return made

    def kept(self, now_ms: int) -> list[KeptSecret]:
        """Give every secret that still works, newest first."""
        rows = self._rows(
            f"{_KEPT} WHERE ends_ms > ? ORDER BY made_ms DESC, hash",
            (now_ms,),
        )
        return [_kept(row) for row in rows]

    def find(self, secret: str, now_ms: int) -> KeptSecret | None:
        """Give what is kept of a secret; None where there is none, or it has ended."""
        rows = self._rows(
            f"{_KEPT} WHERE hash = ? AND ends_ms > ?",
            (hashed(secret), now_ms),
        )
        return next((_kept(row) for row in rows), None)

    def note_use(self, secret: str, now_ms: int) -> None:
        """Note that it was used."""
        self._rows("UPDATE secret SET used_ms = ? WHERE hash = ?", (now_ms, hashed(secret)))

    def end(self, secret: str, within: sqlite3.Connection | None = None) -> bool:
        """End a secret, in a transaction where one is given; say whether there was one."""
        ask = self._rows if within is None else lambda query, given: within.execute(query, given).fetchall()
        return bool(ask("DELETE FROM secret WHERE hash = ? RETURNING 1", (hashed(secret),)))

    def end_all(self, login: str | None, kind: str) -> None:
        """End somebody's secrets of a kind; None stands for those that are nobody's."""
        self._rows("DELETE FROM secret WHERE login IS ? AND kind = ?", (login, kind))

    def revoke(self, secret_id: str) -> bool:
        """End a secret by its id; say whether there was one."""
        return bool(self._rows("DELETE FROM secret WHERE substr(hash, 1, 8) = ? RETURNING 1", (secret_id,)))


def hashed(secret: str) -> str:
    """Give the hash of a secret. A fast one will do: these are 256 random bits, and nobody guesses them."""
    return hashlib.sha256(secret.encode()).hexdigest()


def _kept(row: tuple[Any, ...]) -> KeptSecret:
    key, kind, login, name, vessels, made_ms, used_ms, ends_ms, owners = row
    shows = None if vessels is None else frozenset[str](json.loads(vessels))
    whose = {} if owners is None else dict[str, str](json.loads(owners))
    return KeptSecret(key, kind, login, name, shows, made_ms, used_ms, ends_ms, whose)
