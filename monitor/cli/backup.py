"""``coldberth backup``: the journal in one file, while the agent goes on."""

import argparse
from pathlib import Path

from monitor.cli.run import add_settings_to, settings_from
from monitor.cli.trouble import TroubleError
from monitor.store.backup import BackupError, back_up


def add_to(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add the command."""
    parser = commands.add_parser("backup", help="copy the journal into one file, while the agent goes on")
    parser.add_argument("file", type=Path, metavar="FILE", help="the file it becomes, best on another disk")
    parser.add_argument("--overwrite", action="store_true", help="let it take the place of a file that is there")
    add_settings_to(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Make a backup, look it through and say what is in it."""
    settings = settings_from(arguments.settings)
    try:
        made = back_up(settings.journal.path, arguments.file, overwrite=arguments.overwrite)
    except BackupError as error:
        raise TroubleError(str(error)) from error
    held = made.contents
    print(
        f"{arguments.file}: {held.vessels} vessels, {held.readings} readings, last seq {held.last_seq},"
        f" {made.size_bytes / 1e6:.1f} MB; looked through and whole"
    )
    return 0
