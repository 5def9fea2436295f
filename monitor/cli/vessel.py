"""``coldberth vessel``: lay-up records in and out of the journal, as TOML documents.

One writer: where the agent runs, a record goes to its API; where none runs, this command takes the journal itself.
"""

import argparse
import json
import time
import urllib.error
import urllib.request
from pathlib import Path

from monitor.cli.run import add_settings_to, settings_from
from monitor.cli.trouble import TroubleError
from monitor.fleet import Fleet
from monitor.model.document import DocumentError, read_vessel, write_vessel
from monitor.model.inputs import RecordVersion
from monitor.model.vessel import Vessel
from monitor.settings import ClockMode, Settings
from monitor.store.journal import Journal
from monitor.store.lock import JournalBusyError, WriterLock
from monitor.store.view import JournalView

HTTP_WITHIN_S = 10


def add_to(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add the command."""
    parser = commands.add_parser("vessel", help="import, export and list lay-up records")
    actions = parser.add_subparsers(metavar="ACTION", required=True)
    importing = actions.add_parser("import", help="put records into the journal, as new versions from now on")
    importing.add_argument("files", type=Path, nargs="+", metavar="FILE.toml")
    importing.add_argument("--as", dest="actor", default="command line", metavar="NAME", help="who does it")
    importing.set_defaults(run=import_records)
    exporting = actions.add_parser("export", help="print a vessel's valid record")
    exporting.add_argument("vessel")
    exporting.set_defaults(run=export_record)
    listing = actions.add_parser("list", help="list the vessels")
    listing.set_defaults(run=list_vessels)
    for action in (importing, exporting, listing):
        add_settings_to(action)


def import_records(arguments: argparse.Namespace) -> int:
    """Import records: all of them, or none where one is wrong."""
    settings = settings_from(arguments.settings)
    vessels, wrong = [], []
    for path in arguments.files:
        try:
            vessels.append(_read(path, settings))
        except DocumentError as error:
            wrong.append(str(error))
    if wrong:
        raise TroubleError("\n".join([*wrong, "nothing was imported"]))
    settings.journal.path.parent.mkdir(parents=True, exist_ok=True)
    try:
        lock = WriterLock(settings.journal.path)
    except JournalBusyError as error:
        if not error.address:
            raise TroubleError(str(error)) from error
        for vessel in vessels:
            _send(error.address, vessel, arguments.actor)
    else:
        try:
            _write(settings, vessels, arguments.actor)
        finally:
            lock.release()
    for vessel in vessels:
        print(f"{vessel.id}: {vessel.name}, {vessel.place}, imported")
    return 0


def export_record(arguments: argparse.Namespace) -> int:
    """Print a record as TOML."""
    stored = _view(arguments).record(arguments.vessel)
    if stored is None:
        raise TroubleError(f"no vessel {arguments.vessel!r} in this journal; coldberth vessel list names them")
    print(write_vessel(stored.vessel), end="")
    return 0


def list_vessels(arguments: argparse.Namespace) -> int:
    """List the vessels, one line each."""
    for now in _view(arguments).vessels_now():
        vessel = now.stored.vessel
        print(f"{vessel.id:24}{vessel.name:24}{vessel.place:12} {vessel.mode} (version {now.stored.version})")
    return 0


def _view(arguments: argparse.Namespace) -> JournalView:
    path = settings_from(arguments.settings).journal.path
    if not path.exists():
        raise TroubleError(f"{path}: there is no journal yet; coldberth vessel import makes one")
    return JournalView(path)


def _read(path: Path, settings: Settings) -> Vessel:
    try:
        text = path.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise DocumentError(f"{path}: cannot be read: {error}") from error
    vessel = read_vessel(text, str(path))
    if vessel.yard != settings.yard.id:
        raise DocumentError(f"{path}: yard: is {vessel.yard!r}, and these are the settings of {settings.yard.id!r}")
    return vessel


def _write(settings: Settings, vessels: list[Vessel], actor: str) -> None:
    journal = Journal(settings.journal.path)
    try:
        fleet = Fleet(journal)
        fleet.restore(journal)
        for vessel in vessels:
            at_ms = time.time_ns() // 1_000_000
            if settings.journal.clock is ClockMode.STREAM:
                # The stream's time, not the wall's: before its first clock, she is watched from her lay-up on.
                at_ms = fleet.clock_ms or round(vessel.laid_up.timestamp() * 1000)
            fleet.command(RecordVersion(vessel, at_ms, actor))
        journal.append(fleet.hand_over())
    finally:
        journal.close()


def _send(address: str, vessel: Vessel, actor: str) -> None:
    request = urllib.request.Request(  # noqa: S310 - the address is the agent's own, from its lock file
        f"{address}/api/vessels/{vessel.id}/record",
        method="PUT",
        data=vessel.model_dump_json().encode(),
        headers={"Content-Type": "application/json", "X-Actor": actor},
    )
    try:
        with urllib.request.urlopen(request, timeout=HTTP_WITHIN_S):  # noqa: S310 - as above
            return
    except urllib.error.HTTPError as error:
        try:
            detail = json.loads(error.read()).get("detail", "")
        except ValueError:
            detail = ""
        raise TroubleError(f"{vessel.id}: the agent at {address} refuses it: {error.code} {detail}") from error
    except OSError as error:
        raise TroubleError(f"{vessel.id}: the agent at {address} does not answer: {error}") from error
