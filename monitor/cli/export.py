"""``coldberth export``: a boat's readings, record or alerts, for whatever else wants them.

As text, or readings as a table of typed columns: Apache Arrow or Parquet, where pyarrow is installed.
"""

import argparse
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import IO

from monitor.cli.alert_listed import opened
from monitor.cli.report import shelf_of
from monitor.cli.run import add_settings_to, settings_from
from monitor.cli.trouble import RefusedError, TroubleError
from monitor.model.views import StoredRecord
from monitor.report.arrow_file import FORMATS, ArrowMissingError, arrow, write_readings
from monitor.report.gather import AT_MOST, Shelf
from monitor.report.lines import ALERT_COLUMNS, COLUMNS, alert_json, alert_rows, csv_lines, json_lines, reading_rows


def add_to(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add the command."""
    parser = commands.add_parser("export", help="write a boat's readings, record or alerts for other programs")
    parser.add_argument("vessel", metavar="VESSEL")
    parser.add_argument("--what", required=True, choices=["readings", "record", "alerts"])
    parser.add_argument("--format", default="csv", choices=["csv", "json", *FORMATS])
    parser.add_argument("--from", dest="begin", metavar="TIME", help="ISO 8601; without an offset, yard time")
    parser.add_argument("--to", dest="end", metavar="TIME", help="as --from; else now")
    parser.add_argument("--out", type=Path, metavar="FILE", help="else it is printed; Arrow and Parquet need it")
    add_settings_to(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Write the export: text a line at a time, a table a group of rows at a time."""
    is_table = arguments.format in FORMATS
    if is_table:
        _check_table(arguments)
    settings = settings_from(arguments.settings)
    with opened(settings) as view:
        shelf = shelf_of(settings, view)
        if is_table:
            rows = _write_table(shelf, arguments)
            print(f"{arguments.out}: {rows} rows written")
            return 0
        lines = _lines(shelf, arguments)
        if arguments.out is None:
            # A terminal takes no carriage return of ours (`plain_output` would write it out): lines end with \n alone.
            sys.stdout.writelines(line.replace("\r\n", "\n") for line in lines)
            return 0
        try:
            with arguments.out.open("w", encoding="utf-8", newline="") as file:
                file.writelines(lines)
        except OSError as error:
            raise TroubleError(f"{arguments.out}: cannot be written: {error.strerror}") from error
    print(f"{arguments.out}: written")
    return 0


def _check_table(arguments: argparse.Namespace) -> None:
    if arguments.what != "readings":
        raise TroubleError(f"--format {arguments.format} is for readings; write {arguments.what} as csv or json")
    if arguments.out is None:
        raise TroubleError(f"--format {arguments.format} is no text to print: name a file with --out")
    try:
        arrow()
    except ArrowMissingError as error:
        raise TroubleError(str(error)) from error


def _write_table(shelf: Shelf, arguments: argparse.Namespace) -> int:
    stored, (from_ms, to_ms) = _stored(shelf, arguments), _span(shelf, arguments)
    try:
        with _whole(arguments.out) as file:
            return write_readings(file, arguments.format, shelf.readings, stored.vessel, from_ms, to_ms)
    except OSError as error:
        raise TroubleError(f"{arguments.out}: cannot be written: {error.strerror or error}") from error


@contextmanager
def _whole(path: Path) -> Iterator[IO[bytes]]:
    """Write a file under a name of its own, which becomes ``path`` once it is whole."""
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        with part.open("xb") as file:
            yield file
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)


def _stored(shelf: Shelf, arguments: argparse.Namespace) -> StoredRecord:
    stored = shelf.records.record(arguments.vessel)
    if stored is None:
        raise RefusedError(f"no vessel {arguments.vessel!r} in this journal; coldberth vessel list names them")
    return stored


def _span(shelf: Shelf, arguments: argparse.Namespace) -> tuple[int | None, int]:
    begin, end = _time(arguments.begin, "--from", shelf), _time(arguments.end, "--to", shelf)
    to_ms = shelf.now_ms + 1 if end is None else end
    if begin is not None and begin >= to_ms:
        raise TroubleError(f"--from {arguments.begin} is not before --to {arguments.end or 'now'}")
    return begin, to_ms


def _lines(shelf: Shelf, arguments: argparse.Namespace) -> Iterator[str]:
    stored, (begin, to_ms) = _stored(shelf, arguments), _span(shelf, arguments)
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
