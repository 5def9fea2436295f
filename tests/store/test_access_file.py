"""Those who may sign in, in a real file."""

import sqlite3
import stat
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from monitor.model.access import Account, Grade, Known, Means
from monitor.store.access import (
    DAY_MS,
    INVITATION_ENDS_MS,
    SESSION_ENDS_MS,
    SESSION_IDLE_MS,
    USED_NOTED_EVERY_MS,
    AccessFile,
)
from monitor.store.password_rules import LEAST, MOST

MACHINE = bytes(range(32))
NOW = 1_700_000_000_000
ANNA = Account("anna", "Anna Invented", Grade.MANAGER)
OWNER = Account("olga@example.org", "Olga Invented", Grade.OWNER, "olga@example.org")
GOOD, OTHER = "four wet dogs ashore", "a heron in the mast"


@pytest.fixture
def access(tmp_path: Path) -> Iterator[AccessFile]:
    with closing(AccessFile(tmp_path / "access.sqlite", MACHINE)) as made:
        yield made


def join(access: AccessFile, account: Account = ANNA, password: str = GOOD) -> str:
    access.put(account, NOW)
    session = access.take_up(access.invite(account.login, NOW), account, password, NOW)
    assert session is not None
    return session


def test_nobody_needs_to_sign_in_before_there_is_an_account(access: AccessFile) -> None:
    assert not access.needed()
    access.put(ANNA, NOW)
    assert access.needed()


def test_whoever_was_invited_sets_a_password_once_and_signs_in_by_it(access: AccessFile) -> None:
    access.put(ANNA, NOW)
    invitation = access.invite("ANNA ", NOW)
    assert access.known(invitation, NOW) is None  # it lets nobody in by itself
    assert access.sign_in("anna", "", NOW) is None
    session = access.take_up(invitation, ANNA, GOOD, NOW)
    assert session is not None
    assert access.known(session, NOW) == Known("Anna Invented", Grade.MANAGER, Means.SESSION, "anna")
    assert access.take_up(invitation, ANNA, OTHER, NOW) is None
    again = access.sign_in(" Anna", GOOD, NOW)
    assert again not in {None, session}
    assert access.sign_in("anna", OTHER, NOW) is None
    assert access.sign_in("nobody", GOOD, NOW) is None


def test_an_invitation_ends_and_a_later_one_replaces_it(access: AccessFile) -> None:
    access.put(ANNA, NOW)
    old = access.invite("anna", NOW)
    new = access.invite("anna", NOW)
    assert access.invited(old, NOW) is None
    assert access.invited(new, NOW + INVITATION_ENDS_MS - 1) == ANNA
    assert access.take_up(new, ANNA, GOOD, NOW + INVITATION_ENDS_MS) is None
    with pytest.raises(KeyError):
        access.invite("nobody", NOW)


def test_a_new_password_signs_out_whoever_was_signed_in(access: AccessFile) -> None:
    session = join(access)
    assert access.take_up(access.invite("anna", NOW), ANNA, OTHER, NOW) is not None
    assert access.known(session, NOW) is None
    assert access.sign_in("anna", GOOD, NOW) is None
    assert access.sign_in("anna", OTHER, NOW) is not None


@pytest.mark.parametrize("ends_tokens", [False, True])
def test_a_new_password_ends_tokens_only_where_that_is_wanted(access: AccessFile, ends_tokens: bool) -> None:
    session = join(access)
    token = access.make_token("anna", "the yard's screen", NOW, DAY_MS)
    access.put(OWNER, NOW)
    other = access.make_token(OWNER.login, "hers", NOW, DAY_MS)
    new = access.take_up(access.invite("anna", NOW), ANNA, OTHER, NOW, ends_tokens=ends_tokens)
    assert new is not None
    assert access.known(new, NOW) is not None
    assert access.known(session, NOW) is None
    assert (access.known(token, NOW) is None) is ends_tokens
    assert access.known(other, NOW) is not None


def test_a_link_keeps_who_owned_its_vessels_and_one_of_before_knows_nobody(access: AccessFile) -> None:
    link = access.make_link("Olga", frozenset({"tern"}), NOW, DAY_MS, {"tern": "olga"})
    before = access.make_link("Karl", frozenset({"tern"}), NOW, DAY_MS)
    by_link, by_before = access.known(link, NOW), access.known(before, NOW)
    assert by_link is not None
    assert by_before is not None
    assert (by_link.owners, by_before.owners) == ({"tern": "olga"}, {})
    assert [kept.owners for kept in access.secrets(NOW) if kept.name == "Olga"] == [{"tern": "olga"}]


def test_a_session_ends_when_it_is_ended_when_nobody_uses_it_and_after_a_winter(access: AccessFile) -> None:
    session = join(access)
    access.sign_out(session)
    assert access.known(session, NOW) is None
    idle = access.sign_in("anna", GOOD, NOW)
    assert idle is not None
    assert access.known(idle, NOW + SESSION_IDLE_MS - 1) is not None
    assert access.known(idle, NOW + 2 * SESSION_IDLE_MS) is None
    used = access.sign_in("anna", GOOD, NOW)
    assert used is not None
    for day in range(1, SESSION_ENDS_MS // DAY_MS):
        assert access.known(used, NOW + day * DAY_MS) is not None
    assert access.known(used, NOW + SESSION_ENDS_MS) is None


def test_use_is_noted_to_the_hour(access: AccessFile) -> None:
    session = join(access)
    access.known(session, NOW + USED_NOTED_EVERY_MS - 1)
    assert [kept.used_ms for kept in access.secrets(NOW)] == [NOW]
    access.known(session, NOW + USED_NOTED_EVERY_MS)
    assert [kept.used_ms for kept in access.secrets(NOW)] == [NOW + USED_NOTED_EVERY_MS]


def test_whoever_is_taken_out_is_out_at_once(access: AccessFile) -> None:
    session = join(access)
    token = access.make_token("anna", "weather mast", NOW, DAY_MS)
    known = access.known(token, NOW)
    assert known is not None
    assert (known.means, known.login) == (Means.TOKEN, "anna")
    assert access.remove("ANNA")
    assert not access.remove("anna")
    assert access.known(session, NOW) is None
    assert access.known(token, NOW) is None


def test_a_changed_grade_holds_from_the_next_question_on_and_the_password_stays(access: AccessFile) -> None:
    session = join(access)
    access.put(Account("anna", "Anna Invented", Grade.YARD), NOW)
    known = access.known(session, NOW)
    assert known is not None
    assert known.grade is Grade.YARD
    assert [one.has_password for one in access.accounts()] == [True]


def test_a_link_shows_its_vessels_until_it_ends_or_is_revoked(access: AccessFile) -> None:
    link = access.make_link("Olga's link", frozenset({"tern", "petrel"}), NOW, DAY_MS)
    known = access.known(link, NOW)
    assert known == Known("Olga's link", Grade.OWNER, Means.LINK, vessels=frozenset({"tern", "petrel"}))
    assert access.known(link, NOW + DAY_MS) is None
    (kept,) = access.secrets(NOW)
    assert link not in repr(kept)
    assert access.revoke(kept.id)
    assert not access.revoke(kept.id)
    assert access.known(link, NOW) is None


def test_this_machine_is_known_by_the_secret_beside_its_journal_alone(access: AccessFile) -> None:
    assert access.known(MACHINE.hex(), NOW) == Known("this machine", Grade.MANAGER, Means.MACHINE)
    assert access.known(MACHINE.hex()[:-1], NOW) is None
    assert access.known("", NOW) is None
    assert access.known("ü" * 64, NOW) is None


def test_the_file_holds_no_secret_and_is_read_by_nobody_else(access: AccessFile, tmp_path: Path) -> None:
    session = join(access)
    token = access.make_token("anna", "weather mast", NOW, DAY_MS)
    held = b"".join(path.read_bytes() for path in tmp_path.iterdir())
    for secret in (session, token, GOOD, MACHINE.hex()):
        assert secret.encode() not in held
    assert b"$argon2id$" in held
    assert stat.S_IMODE((tmp_path / "access.sqlite").stat().st_mode) == 0o600


def test_two_processes_see_what_the_other_writes(access: AccessFile, tmp_path: Path) -> None:
    with closing(AccessFile(tmp_path / "access.sqlite", MACHINE)) as other:
        other.put(OWNER, NOW)
    assert list(access.accounts()) == [OWNER]


def test_an_older_hash_is_made_anew_at_the_next_sign_in(access: AccessFile, tmp_path: Path) -> None:
    from argon2 import PasswordHasher

    join(access)
    with closing(sqlite3.connect(tmp_path / "access.sqlite")) as db, db:
        weak = PasswordHasher(time_cost=1, memory_cost=8_192).hash(GOOD)
        db.execute("UPDATE account SET password = ?", (weak,))
    assert access.sign_in("anna", GOOD, NOW) is not None
    with closing(sqlite3.connect(tmp_path / "access.sqlite")) as db:
        assert db.execute("SELECT password FROM account").fetchone()[0] != weak
    assert access.sign_in("anna", GOOD, NOW) is not None


@pytest.mark.parametrize(
    ("password", "why"),
    [
        ("x" * (LEAST - 1), f"at least {LEAST}"),
        ("four wet dogs " * (MOST // 10), f"at most {MOST}"),
        ("ababababababababab", "repeats"),
        ("Anna Invented 2026", "your own name"),
    ],
)
def test_a_password_that_will_not_do_is_refused_in_words_and_the_invitation_stays(
    access: AccessFile, password: str, why: str
) -> None:
    access.put(ANNA, NOW)
    invitation = access.invite("anna", NOW)
    with pytest.raises(ValueError, match=why):
        access.take_up(invitation, ANNA, password, NOW)
    assert access.take_up(invitation, ANNA, GOOD, NOW) is not None


def test_the_first_manager_chooses_a_login_and_from_then_on_nobody_is_first(access: AccessFile) -> None:
    old = access.invite_first(NOW)
    first = access.invite_first(NOW)
    assert first is not None
    assert old is not None
    assert access.invited(old, NOW) is None
    assert access.invited(first, NOW) == Account("", "", Grade.MANAGER)
    assert not access.needed()
    session = access.take_up(first, ANNA, GOOD, NOW)
    assert session is not None
    assert access.known(session, NOW) == Known("Anna Invented", Grade.MANAGER, Means.SESSION, "anna")
    assert access.invite_first(NOW) is None


def test_an_invitation_for_one_lets_nobody_else_in(access: AccessFile) -> None:
    access.put(ANNA, NOW)
    access.put(OWNER, NOW)
    assert access.take_up(access.invite("anna", NOW), OWNER, GOOD, NOW) is None
    stale = access.invite("anna", NOW)
    access.remove("anna")
    assert access.take_up(stale, ANNA, GOOD, NOW) is None


def test_where_nothing_can_be_written_whoever_is_known_stays_so(
    access: AccessFile, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    session = join(access)
    with closing(sqlite3.connect(tmp_path / "access.sqlite")) as other:
        access._db.execute("PRAGMA busy_timeout = 50")
        other.execute("BEGIN IMMEDIATE")
        assert access.known(session, NOW + USED_NOTED_EVERY_MS) is not None
        other.execute("ROLLBACK")
    assert "cannot be noted" in caplog.text
