"""``coldberth vessel``: lay-up records in and out of the journal, as TOML documents.

One writer: where the agent runs, a record goes to its API; where none runs, this command takes the journal itself.
"""

import argparse
from pathlib import Path
from urllib.parse import quote

from monitor.cli.agent_or_journal import Question, carry_out, yard_time_ms
from monitor.cli.run import add_settings_to, settings_from
from monitor.cli.trouble import TroubleError
from monitor.cli.vessel_move import add_move
from monitor.fleet import Fleet
from monitor.model.document import DocumentError, read_vessel, write_vessel
from monitor.model.inputs import RecordVersion
from monitor.model.vessel import Vessel
from monitor.settings import Settings
from monitor.store.view import JournalView


def add_to(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add the command."""
    parser = commands.add_parser("vessel", help="import, export and list lay-up records, and move a vessel")
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
    for action in (importing, exporting, listing, add_move(actions)):
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
    questions = [
        Question(
            "PUT", f"/api/vessels/{v.id}/record?by={quote(arguments.actor)}", v.model_dump_json().encode(), about=v.id
        )
        for v in vessels
    ]
    carry_out(settings, questions, lambda fleet: _write(fleet, settings, vessels, arguments.actor))
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


def _write(fleet: Fleet, settings: Settings, vessels: list[Vessel], actor: str) -> None:
    for vessel in vessels:
        # In the stream's time, not the wall's: before its first clock, she is watched from her lay-up on.
        at_ms = yard_time_ms(settings, fleet, otherwise_ms=round(vessel.laid_up.timestamp() * 1000))
        fleet.command(RecordVersion(vessel, at_ms, actor))
