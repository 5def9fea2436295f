"""``coldberth export``: a boat's readings, record or alerts, as CSV or JSON, for whatever else wants them."""

import argparse
import sys
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from monitor.cli.alert_listed import opened
from monitor.cli.report import shelf_of
from monitor.cli.run import add_settings_to, settings_from
from monitor.cli.trouble import RefusedError, TroubleError
from monitor.report.gather import AT_MOST, Shelf
from monitor.report.lines import ALERT_COLUMNS, COLUMNS, alert_json, alert_rows, csv_lines, json_lines, reading_rows


def add_to(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add the command."""
    parser = commands.add_parser("export", help="write a boat's readings, record or alerts as CSV or JSON")
    parser.add_argument("vessel", metavar="VESSEL")
    parser.add_argument("--what", required=True, choices=["readings", "record", "alerts"])
    parser.add_argument("--format", default="csv", choices=["csv", "json"])
    parser.add_argument("--from", dest="begin", metavar="TIME", help="ISO 8601; without an offset, yard time")
    parser.add_argument("--to", dest="end", metavar="TIME", help="as --from; else now")
    parser.add_argument("--out", type=Path, metavar="FILE", help="else it is printed")
    add_settings_to(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Write the export, a line at a time."""
    settings = settings_from(arguments.settings)
    with opened(settings) as view:
        shelf = shelf_of(settings, view)
        lines = _lines(shelf, arguments)
        if arguments.out is None:
            sys.stdout.writelines(lines)
            return 0
        try:
            with arguments.out.open("w", encoding="utf-8", newline="") as file:
                file.writelines(lines)
        except OSError as error:
            raise TroubleError(f"{arguments.out}: cannot be written: {error.strerror}") from error
    print(f"{arguments.out}: written")
    return 0


def _lines(shelf: Shelf, arguments: argparse.Namespace) -> Iterator[str]:
    stored = shelf.records.record(arguments.vessel)
    if stored is None:
        raise RefusedError(f"no vessel {arguments.vessel!r} in this journal; coldberth vessel list names them")
    begin, end = _time(arguments.begin, "--from", shelf), _time(arguments.end, "--to", shelf)
    to_ms = shelf.now_ms + 1 if end is None else end
    if begin is not None and begin >= to_ms:
        raise TroubleError(f"--from {arguments.begin} is not before --to {arguments.end or 'now'}")
    as_csv = arguments.format == "csv"
    if arguments.what == "record":
        if as_csv:
            raise TroubleError("a record is no table: write --format json, or coldberth vessel export for TOML")
        return iter([stored.vessel.model_dump_json(indent=1) + "\n"])
    if arguments.what == "alerts":
        alerts = shelf.alerts.alerts_between(arguments.vessel, begin or 0, to_ms, AT_MOST)
        return csv_lines(ALERT_COLUMNS, alert_rows(alerts)) if as_csv else json_lines(map(alert_json, alerts))
    rows = reading_rows(shelf.readings, stored.vessel, begin, to_ms, shelf.zone)
    return csv_lines(COLUMNS, rows) if as_csv else json_lines(rows)


def _time(written: str | None, option: str, shelf: Shelf) -> int | None:
    if written is None:
        return None
    try:
        at = datetime.fromisoformat(written)
    except ValueError as error:
        raise TroubleError(f"{option} {written!r} is no time; write 2026-11-30 or 2026-11-30T14:00") from error
    return round((at if at.tzinfo else at.replace(tzinfo=shelf.zone)).timestamp() * 1000)
