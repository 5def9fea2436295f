"""``coldberth report``: a boat's winter as a PDF for her owner and insurer."""

import argparse
from pathlib import Path

from monitor.cli.alert_listed import opened, yard_clock
from monitor.cli.run import add_settings_to, settings_from
from monitor.cli.trouble import RefusedError, TroubleError
from monitor.report import Shelf, report_pdf, winter_of
from monitor.report.winter import NoWinterError
from monitor.settings import Settings
from monitor.store.view import JournalView


def add_to(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add the command."""
    parser = commands.add_parser("report", help="make the report of a boat's winter, as PDF")
    parser.add_argument("vessel", metavar="VESSEL")
    parser.add_argument(
        "--winter",
        type=int,
        nargs="?",
        metavar="YEAR",
        help="the year in whose autumn it begins; else, and without a year, that of her last lay-up",
    )
    parser.add_argument("--out", type=Path, metavar="FILE.pdf", help="else VESSEL-winter-YEAR.pdf here")
    add_settings_to(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Make the report."""
    settings = settings_from(arguments.settings)
    with opened(settings) as view:
        shelf = shelf_of(settings, view)
        versions = view.versions(arguments.vessel)
        if not versions:
            raise RefusedError(f"no vessel {arguments.vessel!r} in this journal; coldberth vessel list names them")
        try:
            winter = winter_of(versions, arguments.winter, shelf.now_ms, shelf.zone)
        except NoWinterError as error:
            raise RefusedError(f"{arguments.vessel}: no report: {error}") from error
        path = arguments.out or Path(f"{arguments.vessel}-winter-{winter.year}.pdf")
        made = report_pdf(shelf, winter)
    write(path, made)
    print(f"{path}: {len(made) / 1000:.0f} kB")
    return 0


def shelf_of(settings: Settings, view: JournalView) -> Shelf:
    """Give where proofs take what they say from."""
    clock = yard_clock(settings, view)
    return Shelf(settings.yard.name, clock.zone, view, view, view, view, clock.now_ms)


def write(path: Path, made: bytes) -> None:
    """Write a file.

    Raises:
        TroubleError: where it cannot be written.
    """
    try:
        path.write_bytes(made)
    except OSError as error:
        raise TroubleError(f"{path}: cannot be written: {error.strerror}") from error
