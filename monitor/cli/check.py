"""``coldberth check``: looks the journal through, while the agent goes on, and says in sentences what is wrong."""

import argparse
import json
import re
import sqlite3
import sys
import time
from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from monitor.cli.run import add_settings_to, settings_from
from monitor.cli.trouble import EXIT_REFUSED, RefusedError, TroubleError
from monitor.settings import ClockMode, Settings
from monitor.store.check import check
from monitor.store.checked import Said
from monitor.store.lock import JournalBusyError, WriterLock
from monitor.store.room import compact
from monitor.store.sound import NotAJournalError, look_through, opened_to_read

_HASH = re.compile("[0-9a-f]{64}")


def add_to(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add the command."""
    parser = commands.add_parser("check", help="look the journal through, and say what is wrong with it")
    parser.add_argument("--json", action="store_true", help="print it as JSON, with figures")
    parser.add_argument("--all", action="store_true", help="count every hour again, not a sample of them")
    parser.add_argument(
        "--compact", action="store_true", help="first write the file anew without free room; stop the agent"
    )
    parser.add_argument(
        "--has",
        metavar="HASH",
        type=_hash,
        help="a hash of the events that was kept, as a report prints it",
    )
    add_settings_to(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Look the journal through.

    Returns:
        0 where nothing is wrong, 1 where something is.
    """
    settings = settings_from(arguments.settings)
    path = settings.journal.path
    if not path.exists():
        raise TroubleError(f"{path}: there is no journal yet; coldberth vessel import makes one")
    if arguments.compact:
        words = _compact(path)
        print(words, file=sys.stderr if arguments.json else sys.stdout)
    said = _look(settings, every_hour=arguments.all, has=arguments.has or "")
    if arguments.json:
        matters = [{"about": s.about, "ok": s.ok, "words": s.words, **s.figures, "more": s.more} for s in said]
        print(json.dumps({"journal": str(path), "ok": all(s.ok for s in said), "matters": matters}, indent=1))
    else:
        for matter in said:
            print(f"{'ok   ' if matter.ok else 'WRONG'} {matter.about:10} {matter.words}")
            for line in matter.more:
                print(f"{'':17}{line}")
    return 0 if all(matter.ok for matter in said) else EXIT_REFUSED


def _hash(text: str) -> str:
    given = text.strip().casefold()
    if not _HASH.fullmatch(given):
        raise argparse.ArgumentTypeError(f"{text!r} is no hash: it has 64 letters a to f and digits")
    return given


def _look(settings: Settings, *, every_hour: bool, has: str) -> list[Said]:
    path, zone = settings.journal.path, ZoneInfo(settings.yard.zone)

    def spell(at_ms: int) -> str:
        return f"{datetime.fromtimestamp(at_ms / 1000, UTC).astimezone(zone):%d %b %Y %H:%M}"

    try:
        history = settings.history is not None
        return check(path, _now_ms(settings), every_hour=every_hour, spell=spell, has=has, history=history)
    except (NotAJournalError, sqlite3.DatabaseError) as error:
        return [Said("integrity", ok=False, words=f"It cannot be read: {error}. Restore the last backup.")]


def _now_ms(settings: Settings) -> int:
    """Give the yard's time: the wall's, or the stream's last clock."""
    if settings.journal.clock is ClockMode.WALL:
        return time.time_ns() // 1_000_000
    with opened_to_read(settings.journal.path) as db:
        return int(db.execute("SELECT coalesce(max(at_ms), 0) FROM input WHERE kind = 'clock'").fetchone()[0])


def _compact(path: Path) -> str:
    try:
        lock = WriterLock(path)
    except JournalBusyError as error:
        raise RefusedError(f"{error}; the file was not written anew") from error
    except OSError as error:
        raise TroubleError(f"{path}: cannot be locked: {error}") from error
    try:
        before = path.stat().st_size
        look_through(path)
        compact(path)
        return f"{path}: written anew, {before / 1e6:.1f} MB before, {path.stat().st_size / 1e6:.1f} MB now"
    except (NotAJournalError, sqlite3.Error, OSError) as error:
        raise TroubleError(f"{path}: not written anew, and as it was: {error}") from error
    finally:
        lock.release()
