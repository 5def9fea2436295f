"""Those who may sign in, in a file of their own beside the journal; every secret in it is a hash."""

import hmac
import logging
import os
import sqlite3
import threading
from collections.abc import Mapping, Sequence
from pathlib import Path

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from monitor.model.access import INVITATION_DAYS, Account, Grade, KeptSecret, Known, Means
from monitor.store.migrate import migrate
from monitor.store.password_rules import password_trouble
from monitor.store.secret import read_or_make_secret
from monitor.store.secrets_kept import Rows, Secrets

log = logging.getLogger(__name__)

ACCESS_FILE = "access.sqlite"
MACHINE_KEY_FILE = "machine.key"
DAY_MS = 86_400_000
SESSION_IDLE_MS = 30 * DAY_MS
"""A session that nobody used for so long has ended: a telephone that was lost is not let in for ever."""
SESSION_ENDS_MS = 180 * DAY_MS
"""A winter: whoever looks in all the time signs in once."""
INVITATION_ENDS_MS = INVITATION_DAYS * DAY_MS
USED_NOTED_EVERY_MS = 3_600_000
_PUT = (
    "INSERT INTO account (login, name, grade, email, made_ms) VALUES (?, ?, ?, ?, ?) ON CONFLICT (login)"
    " DO UPDATE SET name = excluded.name, grade = excluded.grade, email = excluded.email"
)
_INVITATION, _SESSION, _TOKEN = "invitation", Means.SESSION.value, Means.TOKEN.value
_NOBODY = "$argon2id$v=19$m=65536,t=3,p=4$AAAAAAAAAAAAAAAAAAAAAA$AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA"
"""The hash of no password: where there is no such login, trying takes as long as where there is."""


class AccessFile:
    """`SignIn` over a SQLite file; usable from any thread, and by several processes at once.

    Args:
        path: the file; it is made, readable by nobody else, where there is none.
        machine: a secret in a file beside the journal: whoever can read that can read the journal anyway.
    """

    def __init__(self, path: Path, machine: bytes) -> None:
        os.close(os.open(path, os.O_RDWR | os.O_CREAT, 0o600))
        self._machine = machine.hex()
        self._passwords = PasswordHasher()
        self._hashing = threading.Lock()  # one slow hash at once: each takes 64 MB
        self._db = sqlite3.connect(path, isolation_level=None, timeout=5.0, check_same_thread=False)
        for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON"):
            self._db.execute(f"PRAGMA {pragma}")
        migrate(self._db, "access_migrations", "file of those who may sign in")
        self._rows = Rows(self._db)
        self._secrets = Secrets(self._rows)

    def close(self) -> None:
        """Close the file."""
        self._db.close()

    # Who asks.

    def needed(self) -> bool:
        """Say whether anybody has an account."""
        return bool(self._rows("SELECT 1 FROM account LIMIT 1"))

    def known(self, secret: str, now_ms: int) -> Known | None:
        """Say who a secret belongs to; None where it is wrong, old or revoked."""
        if hmac.compare_digest(secret.encode(), self._machine.encode()):
            return Known("this machine", Grade.MANAGER, Means.MACHINE)
        kept = self._secrets.find(secret, now_ms)
        if kept is None or kept.kind == _INVITATION:
            return None
        means = Means(kept.kind)
        if means is Means.SESSION and now_ms - kept.used_ms >= SESSION_IDLE_MS:
            return None
        if now_ms - kept.used_ms >= USED_NOTED_EVERY_MS:
            self._note_use(secret, now_ms)
        if kept.login is None:
            return Known(kept.name, Grade.OWNER, means, vessels=kept.vessels or frozenset(), owners=kept.owners)
        account = self._find(kept.login)
        return None if account is None else Known(account.name, account.grade, means, account.login, account.email)

    def _note_use(self, secret: str, now_ms: int) -> None:
        try:
            self._secrets.note_use(secret, now_ms)
        except sqlite3.Error as error:  # such as a full disk: whoever is known must not be shut out for that
            log.warning("it cannot be noted that somebody was here: %s", error)

    def sign_in(self, login: str, password: str, now_ms: int) -> str | None:
        """Give the secret of a new session, None where login or password is wrong."""
        login = _plain(login)
        rows = self._rows("SELECT name, password FROM account WHERE login = ?", (login,))
        name, kept = rows[0] if rows else ("", None)
        if not self._verified(kept or _NOBODY, password) or kept is None:
            return None
        if self._passwords.check_needs_rehash(kept):
            self._rows("UPDATE account SET password = ? WHERE login = ?", (self._hashed(password), login))
        return self._secrets.make(_SESSION, login, name, now_ms, SESSION_ENDS_MS)

    def sign_out(self, secret: str) -> None:
        """End the session of this secret."""
        self._secrets.end(secret)

    def invited(self, invitation: str, now_ms: int) -> Account | None:
        """Say whom an invitation is for; None where it is wrong, used or too old.

        The first manager's has no login yet: whoever takes it up chooses one.
        """
        kept = self._secrets.find(invitation, now_ms)
        if kept is None or kept.kind != _INVITATION:
            return None
        if kept.login is not None:
            return self._find(kept.login)
        return None if self.needed() else Account("", "", Grade.MANAGER)

    def take_up(
        self, invitation: str, account: Account, password: str, now_ms: int, *, ends_tokens: bool = False
    ) -> str | None:
        """Set the password of whoever was invited, once, and give a new session's secret.

        None where the invitation is wrong, used or too old. Whoever was signed in as them is signed out.

        Args:
            invitation: its secret.
            account: as `invited` gave it; the first manager's with the login and name that they chose.
            password: the new password.
            now_ms: wall time.
            ends_tokens: whether the tokens of programs that ask as them end too.

        Raises:
            ValueError: where the password will not do, in words; the invitation stays.
        """
        found = self.invited(invitation, now_ms)
        if found is None or found.login not in {"", account.login}:
            return None
        trouble = password_trouble(password, account.login, account.name)
        if trouble:
            raise ValueError(trouble)
        account, hashed = (found if found.login else account), self._hashed(password)
        with self._rows.transaction() as db:
            if not self._secrets.end(invitation, db):
                return None  # somebody was quicker
            db.execute(_PUT, _row(account, now_ms))
            db.execute("UPDATE account SET password = ? WHERE login = ?", (hashed, account.login))
            for kind in (_SESSION, _TOKEN) if ends_tokens else (_SESSION,):
                db.execute("DELETE FROM secret WHERE login = ? AND kind = ?", (account.login, kind))
        return self._secrets.make(_SESSION, account.login, account.name, now_ms, SESSION_ENDS_MS)

    def invite_first(self, now_ms: int) -> str | None:
        """Give the secret of an invitation to be the first manager; None where anybody has an account."""
        if self.needed():
            return None
        self._secrets.end_all(None, _INVITATION)
        return self._secrets.make(_INVITATION, None, "first manager", now_ms, INVITATION_ENDS_MS)

    # What managers do.

    def accounts(self) -> Sequence[Account]:
        """Give everybody who may sign in, by name."""
        rows = self._rows("SELECT login, name, grade, email, password IS NOT NULL FROM account ORDER BY name, login")
        return [Account(login, name, Grade(grade), email, bool(has)) for login, name, grade, email, has in rows]

    def put(self, account: Account, now_ms: int) -> None:
        """Add somebody, or change them; a password stays."""
        self._rows(_PUT, _row(account, now_ms))

    def remove(self, login: str) -> bool:
        """Take somebody out, with all their secrets; say whether there was one."""
        return bool(self._rows("DELETE FROM account WHERE login = ? RETURNING 1", (_plain(login),)))

    def invite(self, login: str, now_ms: int) -> str:
        """Give the secret of an invitation to set a password; earlier ones no longer work.

        Raises:
            KeyError: where nobody signs in by this login.
        """
        account = self._account(login)
        self._secrets.end_all(account.login, _INVITATION)
        return self._secrets.make(_INVITATION, account.login, account.name, now_ms, INVITATION_ENDS_MS)

    def make_token(self, login: str, name: str, now_ms: int, ends_after_ms: int) -> str:
        """Give a secret for a program that asks as somebody.

        Raises:
            KeyError: where nobody signs in by this login.
        """
        return self._secrets.make(Means.TOKEN.value, self._account(login).login, name, now_ms, ends_after_ms)

    def make_link(
        self,
        name: str,
        vessels: frozenset[str],
        now_ms: int,
        ends_after_ms: int,
        owners: Mapping[str, str] | None = None,
    ) -> str:
        """Give the secret of a link that shows some vessels to whoever has it, as their owner sees them.

        Args:
            name: whom it is for.
            vessels: which it shows.
            now_ms: wall time.
            ends_after_ms: how long it works.
            owners: by vessel, the key of her owner (`owner_key`): it shows her while she is theirs.
        """
        return self._secrets.make(Means.LINK.value, None, name, now_ms, ends_after_ms, vessels, owners)

    def secrets(self, now_ms: int) -> list[KeptSecret]:
        """Give what is kept of every secret that still works, newest first."""
        return self._secrets.kept(now_ms)

    def revoke(self, secret_id: str) -> bool:
        """End a secret by its id; say whether there was one."""
        return self._secrets.revoke(secret_id)

    def _find(self, login: str) -> Account | None:
        login = _plain(login)
        return next((one for one in self.accounts() if one.login == login), None)

    def _account(self, login: str) -> Account:
        found = self._find(login)
        if found is None:
            raise KeyError(login)
        return found

    def _verified(self, kept: str, password: str) -> bool:
        with self._hashing:
            try:
                return self._passwords.verify(kept, password)
            except (VerificationError, InvalidHashError):
                return False

    def _hashed(self, password: str) -> str:
        with self._hashing:
            return self._passwords.hash(password)


def open_access(journal: Path) -> AccessFile:
    """Open the file of those who may sign in at a journal's yard: it stands beside the journal.

    Raises:
        SecretFileError, OSError: where the secret of this machine, beside it, cannot be had.
        JournalTooNewError: where a newer program wrote it.
    """
    return AccessFile(journal.with_name(ACCESS_FILE), read_or_make_secret(journal.with_name(MACHINE_KEY_FILE)))


def machine_token(journal: Path) -> str:
    """Give the token by which a process of this machine is known to the agent: it can read the files of its journal.

    Raises:
        SecretFileError, OSError: where it cannot be had.
    """
    return read_or_make_secret(journal.with_name(MACHINE_KEY_FILE)).hex()


def _row(account: Account, now_ms: int) -> tuple[object, ...]:
    return _plain(account.login), account.name, account.grade.value, account.email, now_ms


def _plain(login: str) -> str:
    return login.strip().casefold()
