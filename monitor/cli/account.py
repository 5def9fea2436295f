"""``coldberth account``: who may sign in at the pages and the API.

It writes the file of those who may sign in beside the journal, and needs no agent: one that runs sees it at once.
"""

import argparse
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime

from monitor.cli.run import add_settings_to, settings_from
from monitor.cli.trouble import RefusedError, TroubleError
from monitor.model.access import INVITATION_DAYS, LINK_DAYS, Account, Grade
from monitor.settings import Settings
from monitor.store.access import DAY_MS, AccessFile, open_access
from monitor.store.migrate import JournalTooNewError
from monitor.store.secret import SecretFileError
from monitor.store.view import JournalView
from monitor.web.account_words import owner_name, put_words
from monitor.web.link_owners import owners_of

TOKEN_DAYS = 365
MOST_DAYS = 3_650


def add_to(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add the command."""
    parser = commands.add_parser("account", help="say who may sign in, and make and end links and tokens")
    actions = parser.add_subparsers(metavar="ACTION", required=True)
    adding = actions.add_parser("add", help="let somebody sign in, or change them; prints their invitation")
    adding.add_argument("login", help="id of one of the settings' people, or an e-mail address")
    adding.add_argument("--grade", required=True, choices=[grade.value for grade in Grade])
    adding.add_argument("--name", help="how they are written; by default as the settings have it")
    adding.add_argument("--email", help="an owner sees the boats whose record names an owner of this address")
    adding.set_defaults(run=add)
    inviting = actions.add_parser("invite", help="print a new invitation, such as for a forgotten password")
    inviting.add_argument("login")
    inviting.set_defaults(run=invite)
    removing = actions.add_parser("remove", help="let somebody in no more, at once")
    removing.add_argument("login")
    removing.set_defaults(run=remove)
    linking = actions.add_parser("link", help="print a link that shows some boats without a password, to read only")
    linking.add_argument("name", help="whom it is for")
    linking.add_argument("vessels", nargs="+", metavar="VESSEL")
    linking.set_defaults(run=link)
    making = actions.add_parser("token", help="print a token for a program that asks the API as somebody")
    making.add_argument("login")
    making.add_argument("name", help="what it is for")
    making.set_defaults(run=token)
    for timed, days in ((linking, LINK_DAYS), (making, TOKEN_DAYS)):
        timed.add_argument("--days", type=int, default=days, help=f"how long it works; by default {days}")
    revoking = actions.add_parser("revoke", help="end a session, link, token or invitation")
    revoking.add_argument("id", help="as the list has it")
    revoking.set_defaults(run=revoke)
    listing = actions.add_parser("list", help="list who may sign in, and every session, link and token that works")
    listing.set_defaults(run=list_all)
    for action in (adding, inviting, removing, linking, making, revoking, listing):
        add_settings_to(action)


def add(arguments: argparse.Namespace) -> int:
    """Let somebody sign in, or change them."""
    settings = settings_from(arguments.settings)
    account = _account(arguments, settings)
    with _access(settings) as access:
        before = next((one for one in access.accounts() if one.login == account.login), None)
        access.put(account, _now_ms())
        print(f"{account.login}: {account.name}, {account.grade.value}")
        if before is not None:
            print(f"  {put_words(before, account)}")
        if account.grade is Grade.OWNER and _owner_name(settings, account.email) is None:
            print(f"  no boat's record names an owner of {account.email}: they see no boat until one does")
        if not any(one.login == account.login and one.has_password for one in access.accounts()):
            _print_invitation(access, settings, account.login)
    return 0


def invite(arguments: argparse.Namespace) -> int:
    """Print a new invitation."""
    settings = settings_from(arguments.settings)
    with _access(settings) as access, _known(arguments.login):
        _print_invitation(access, settings, arguments.login)
    return 0


def remove(arguments: argparse.Namespace) -> int:
    """Let somebody in no more."""
    with _access(settings_from(arguments.settings)) as access, _known(arguments.login):
        if not access.remove(arguments.login):
            raise KeyError(arguments.login)
        print(f"{arguments.login} is let in no more")
        if not access.needed():
            print("nobody has an account now: on loopback the pages are open to whoever uses this machine")
    return 0


def link(arguments: argparse.Namespace) -> int:
    """Print a link to some boats."""
    settings = settings_from(arguments.settings)
    days_ms = _days_ms(arguments)
    view = JournalView(settings.journal.path) if settings.journal.path.exists() else None
    unknown = [one for one in arguments.vessels if view is None or view.record(one) is None]
    if unknown:
        raise RefusedError(f"no vessel {unknown[0]!r} in this journal; coldberth vessel list names them")
    owners = {} if view is None else owners_of(view, arguments.vessels)
    with _access(settings) as access:
        made = access.make_link(arguments.name, frozenset(arguments.vessels), _now_ms(), days_ms, owners)
    print(f"{settings.web.public}/in/{made}")
    print(f"works for {arguments.days} days, for whoever has it; account list and revoke end it before")
    if owners:
        print("it ends for a boat when her record names another owner")
    return 0


def token(arguments: argparse.Namespace) -> int:
    """Print a token."""
    days_ms = _days_ms(arguments)
    with _access(settings_from(arguments.settings)) as access, _known(arguments.login):
        made = access.make_token(arguments.login, arguments.name, _now_ms(), days_ms)
    print(made)
    print(f"works for {arguments.days} days; send it as: Authorization: Bearer TOKEN. It is not shown again.")
    return 0


def revoke(arguments: argparse.Namespace) -> int:
    """End a secret."""
    with _access(settings_from(arguments.settings)) as access:
        if not access.revoke(arguments.id):
            raise RefusedError(f"nothing that works has the id {arguments.id!r}; coldberth account list names them")
    print(f"{arguments.id} is ended")
    return 0


def list_all(arguments: argparse.Namespace) -> int:
    """List accounts and secrets."""
    with _access(settings_from(arguments.settings)) as access:
        for one in access.accounts():
            waits = "" if one.has_password else "  (has set no password yet)"
            print(f"{one.login:28}{one.grade.value:10}{one.name}{waits}")
        for kept in access.secrets(_now_ms()):
            shows = "" if kept.vessels is None else ": " + ", ".join(sorted(kept.vessels))
            used = f"last used {_day(kept.used_ms)}" if kept.used_ms else "never used"
            whose = f"{kept.name}{'' if kept.login is None else f' ({kept.login})'}"
            print(f"  {kept.id}  {kept.kind:11}{whose}{shows}; {used}, ends {_day(kept.ends_ms)}")
    return 0


def _account(arguments: argparse.Namespace, settings: Settings) -> Account:
    login = arguments.login.strip().casefold()
    # By their whole name or id: a beginning that fits one today would let in somebody else tomorrow.
    person = settings.roster.whole(login)
    name, email = arguments.name, arguments.email
    if person is not None:
        login, name, email = person.id, name or person.name, email or person.email
    if "@" in login:
        email = email or login
    if arguments.grade == Grade.OWNER.value:
        name = name or _owner_name(settings, email)
    if not name:
        raise RefusedError(
            f"{login} is none of the settings' people: give --name, as it is to stand under what they do"
        )
    grade = Grade(arguments.grade)
    if grade is Grade.OWNER and not email:
        raise RefusedError("an owner is known by an e-mail address: give --email, as their boats' records have it")
    return Account(login, name, grade, email)


def _owner_name(settings: Settings, email: str | None) -> str | None:
    """Give how the records write the owner of an address; None where none names one."""
    if not email or not settings.journal.path.exists():
        return None
    with closing(JournalView(settings.journal.path)) as view:
        return owner_name(view, email)


def _print_invitation(access: AccessFile, settings: Settings, login: str) -> None:
    print(f"{settings.web.public}/join/{access.invite(login, _now_ms())}")
    print(f"lets them set a password, once, within {INVITATION_DAYS} days; give it to nobody else")


@contextmanager
def _access(settings: Settings) -> Iterator[AccessFile]:
    path = settings.journal.path
    path.parent.mkdir(parents=True, exist_ok=True)
    try:
        access = open_access(path)
    except (SecretFileError, JournalTooNewError, OSError) as error:
        raise TroubleError(f"who may sign in cannot be read: {error}") from error
    with closing(access):
        yield access


@contextmanager
def _known(login: str) -> Iterator[None]:
    try:
        yield
    except KeyError as error:
        raise RefusedError(f"nobody signs in by {login!r}; coldberth account list names them") from error


def _days_ms(arguments: argparse.Namespace) -> int:
    days = int(arguments.days)
    if not 1 <= days <= MOST_DAYS:
        raise TroubleError(f"--days {days}: give a number from 1 to {MOST_DAYS}")
    return days * DAY_MS


def _now_ms() -> int:
    return time.time_ns() // 1_000_000


def _day(at_ms: int) -> str:
    return datetime.fromtimestamp(at_ms / 1000, UTC).date().isoformat()
