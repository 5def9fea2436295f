"""``coldberth restore``: a backup in the place of the journal, while no agent runs."""

import argparse
from datetime import UTC, datetime
from pathlib import Path

from monitor.cli.run import add_settings_to, settings_from
from monitor.cli.trouble import RefusedError, TroubleError
from monitor.store.lock import JournalBusyError
from monitor.store.restore import RestoreError, restore


def add_to(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add the command."""
    parser = commands.add_parser("restore", help="put a backup in the place of the journal; stop the agent first")
    parser.add_argument("file", type=Path, metavar="FILE", help="a file that coldberth backup made")
    add_settings_to(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Restore, and say what the journal holds now and where what was there is."""
    settings = settings_from(arguments.settings)
    journal = settings.journal.path
    try:
        done = restore(arguments.file, journal, settings.yard.id, datetime.now(UTC))
    except JournalBusyError as error:
        raise RefusedError(f"{error}; nothing was restored") from error
    except RestoreError as error:
        raise TroubleError(str(error)) from error
    held = done.contents
    print(f"{journal}: {held.vessels} vessels, {held.readings} readings, last seq {held.last_seq}")
    if done.kept is not None:
        print(f"what was there is kept: {done.kept}")
    print("what came after the backup was made is not in it: deploy/docs/keeping.md")
    return 0
