"""``coldberth incident``: everything that bears on one alert, in one ZIP file."""

import argparse
import io
from pathlib import Path

from monitor.cli.alert_listed import found_alert, opened
from monitor.cli.report import shelf_of, write
from monitor.cli.run import add_settings_to, settings_from
from monitor.report import incident_pack


def add_to(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add the command."""
    parser = commands.add_parser("incident", help="pack all that bears on one alert into a ZIP file")
    parser.add_argument("alert", metavar="ALERT", help="its id; of an open one, how its id begins")
    parser.add_argument("--out", type=Path, metavar="FILE.zip", help="else incident-ALERT.zip here")
    add_settings_to(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Make the pack."""
    settings = settings_from(arguments.settings)
    with opened(settings) as view:
        alert = found_alert(view, arguments.alert)
        made = io.BytesIO()
        incident_pack(shelf_of(settings, view), alert, made)
    path = arguments.out or Path(f"incident-{alert.id}.zip")
    write(path, made.getvalue())
    print(f"{path}: {len(made.getvalue()) / 1000:.0f} kB")
    return 0
