"""Who may sign in, what they may see and do, and how they show who they are."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Protocol

INVITATION_DAYS = 3
LINK_DAYS = 240
"""A winter, from lay-up to launch, and what comes late of both."""


class Grade(StrEnum):
    """What somebody may do. Each may what those before it may, but for owners, who see their own boats only."""

    OWNER = "owner"
    """Sees their own boats, and changes nothing."""
    YARD = "yard"
    """Sees every boat, acts on alerts, writes visits down."""
    ENGINEER = "engineer"
    """And changes lay-up records."""
    MANAGER = "manager"
    """And takes alerts out of service, and says who may sign in."""

    def may(self, least: "Grade") -> bool:
        """Say whether this is enough where so much is asked.

        >>> Grade.ENGINEER.may(Grade.YARD), Grade.YARD.may(Grade.MANAGER)
        (True, False)
        """
        ranks = list(Grade)
        return ranks.index(self) >= ranks.index(least)


class Means(StrEnum):
    """How somebody shows who they are."""

    SESSION = "session"
    """A cookie, after signing in."""
    TOKEN = "token"  # noqa: S105 - the word for it
    """A secret for programs, sent as a bearer token."""
    LINK = "link"
    """A link that an owner was given: their boats, without a password."""
    MACHINE = "machine"
    """A process of the agent's own machine that can read the files beside its journal."""


@dataclass(frozen=True, slots=True)
class Account:
    """Somebody who may sign in.

    Attributes:
        login: what they sign in by, in small letters: the id of one of the settings' people, or an e-mail address.
        name: how they are written under what they do; for one of the settings' people the name that stands there.
        grade: what they may do.
        email: an owner sees the boats whose record names an owner of this address, in any case.
        has_password: whether they have set one; until then only their invitation lets them in.
    """

    login: str
    name: str
    grade: Grade
    email: str | None = None
    has_password: bool = False


@dataclass(frozen=True, slots=True)
class Known:
    """Whoever a question comes from.

    Attributes:
        name: how they are written under what they do.
        grade: what they may do.
        means: how they showed who they are.
        login: their account's, None for a link and for this machine.
        email: whose boats an owner sees, as in `Account`.
        vessels: for a link, the only vessels it shows; None where it is not limited so.
        owners: for a link, who owned each of them when it was made: it shows her for no longer than that.
    """

    name: str
    grade: Grade
    means: Means
    login: str | None = None
    email: str | None = None
    vessels: frozenset[str] | None = None
    owners: Mapping[str, str] = field(default_factory=dict, hash=False)


@dataclass(frozen=True, slots=True)
class KeptSecret:
    """A secret as managers see it: never the secret itself.

    Attributes:
        id: the first eight digits of its hash, by which it is revoked.
        kind: session, token, link or invitation.
        login: whose it is, None for a link.
        name: what it was called when it was made.
        vessels: the only vessels that a link shows.
        made_ms: when it was made (wall time).
        used_ms: when it was last used, to the hour; 0 where it never was.
        ends_ms: when it ends.
        owners: as in `Known`.
    """

    id: str
    kind: str
    login: str | None
    name: str
    vessels: frozenset[str] | None
    made_ms: int
    used_ms: int
    ends_ms: int
    owners: Mapping[str, str] = field(default_factory=dict, hash=False)


class Access(Protocol):
    """Where those who may sign in are kept. Secrets are kept as hashes only."""

    def needed(self) -> bool:
        """Say whether anybody has an account: from then on nobody gets in without."""
        ...

    def known(self, secret: str, now_ms: int) -> Known | None:
        """Say who a session's, a token's or a link's secret belongs to; None where it is wrong, old or revoked."""
        ...

    def sign_in(self, login: str, password: str, now_ms: int) -> str | None:
        """Give the secret of a new session, None where login or password is wrong. Takes the time of a slow hash."""
        ...

    def sign_out(self, secret: str) -> None:
        """End the session of this secret."""
        ...


class Invitations(Protocol):
    """How those who were invited set a password."""

    def invited(self, invitation: str, now_ms: int) -> Account | None:
        """Say whom an invitation is for; None where it is wrong, used or too old.

        The first manager's has no login yet: whoever takes it up chooses one.
        """
        ...

    def take_up(
        self, invitation: str, account: Account, password: str, now_ms: int, *, ends_tokens: bool = False
    ) -> str | None:
        """Set the password of whoever was invited, once, and give a new session's secret; all other sessions end.

        None where the invitation is wrong, used or too old; a `ValueError` says in words why a password will not do.
        ``ends_tokens``: whether the tokens of programs that ask as them end too.
        """
        ...


class AccessBook(Protocol):
    """What managers do with those who may sign in."""

    def accounts(self) -> Collection[Account]:
        """Give everybody who may sign in."""
        ...

    def put(self, account: Account, now_ms: int) -> None:
        """Add somebody, or change them; a password stays."""
        ...

    def remove(self, login: str) -> bool:
        """Take somebody out, with their sessions and tokens; say whether there was one."""
        ...

    def invite(self, login: str, now_ms: int) -> str:
        """Give the secret of an invitation by which they set a password; it works once and for some days."""
        ...


class SecretBook(Protocol):
    """What managers do with links, tokens and sessions."""

    def secrets(self, now_ms: int) -> Sequence[KeptSecret]:
        """Give what is kept of every secret that still works, newest first."""
        ...

    def make_link(
        self,
        name: str,
        vessels: frozenset[str],
        now_ms: int,
        ends_after_ms: int,
        owners: Mapping[str, str] | None = None,
    ) -> str:
        """Give the secret of a link that shows some vessels to whoever has it, as their owner sees them."""
        ...

    def revoke(self, secret_id: str) -> bool:
        """End a secret by its id; say whether there was one."""
        ...


class SignIn(Access, Invitations, AccessBook, SecretBook, Protocol):
    """All of it, as one file keeps it."""
