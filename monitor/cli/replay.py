"""``coldberth replay``: a simulated winter straight through the watch, with no broker and no journal."""

import argparse
import json
import shutil
import sys
import time
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from monitor.cli.heard import Heard, fold
from monitor.cli.heard import take as take  # noqa: PLC0414 - the score and tests find it here
from monitor.cli.outcome import place_of, print_vessels, truth_of, vessels_of
from monitor.cli.timeline import entries_of, lines_of
from monitor.cli.trouble import TroubleError
from monitor.cli.winter_picture import Sampler, draw
from monitor.model.alert import Alert
from monitor.model.document import DocumentError
from simulator.library import WINTERS, read_winter, winter_names
from simulator.plan import read_plan
from simulator.truth import TruthLog
from simulator.winter import Winter
from simulator.yard import WINTER

NARROWEST, USUAL_CHARS = 100, 150


def add_to(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add the command."""
    parser = commands.add_parser(
        "replay",
        help="run a simulated winter straight through the watch: truth and alerts side by side",
        description="Runs a simulated winter straight through the watch, without a broker and without a journal.",
    )
    parser.add_argument(
        "winter",
        nargs="?",
        default=WINTER.stem,
        metavar="WINTER",
        help=f"a winter's name, as --list prints them, or the path of a document ({WINTER.stem}, the demo's)",
    )
    parser.add_argument("--list", action="store_true", help="print every shipped winter with its title, and end")
    parser.add_argument("--vessels", type=_positive, metavar="N", help="how many boats (as the winter says)")
    parser.add_argument("--vessel", metavar="ID", help="replay only this one")
    parser.add_argument("--seed", type=int, metavar="S", help="of all chance in it (as the winter says)")
    parser.add_argument("--cadence", type=_positive, metavar="SECONDS", help="seconds between packs (as it says)")
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help="print one JSON object instead of a list to read")
    form.add_argument("--timeline", action="store_true", help="print what was true beside what the watch said")
    parser.add_argument("--picture", type=Path, metavar="FILE.svg", help="draw the winter of one --vessel")
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Run the command."""
    if arguments.list:
        _print_list()
        return 0
    winter = _winter(arguments)
    sampler = None
    if arguments.picture is not None:
        if len(winter.vessels) > 1:
            raise TroubleError(f"--picture draws one vessel: name her with --vessel, one of {_ids(winter)}")
        sampler = Sampler(winter.vessels[0], winter.plan.begins_ms, winter.plan.ends_ms)
    log = TruthLog()
    began = time.perf_counter()
    heard = fold(winter, log, None if sampler is None else sampler.see)
    took_s = time.perf_counter() - began
    if sampler is not None:
        _write(arguments.picture, draw(sampler, winter, log, heard))
    if arguments.json:
        json.dump(_data(arguments.winter, winter, log, heard), sys.stdout, indent=1)
        print()
        return 0
    if arguments.timeline:
        _print_timelines(winter, log, heard)
    else:
        truth = truth_of(winter, log, heard)
        told = vessels_of([v.id for v in winter.vessels], winter.truth(), heard.alerts.values())
        print_vessels(winter.vessels, {v: told[v] | truth[v] for v in told})
    print(f"{heard.readings} readings in {took_s:.1f} s, simulation included")
    return 0


def replay(winter: Winter) -> tuple[int, dict[str, Alert]]:
    """Fold a winter.

    Returns:
        How many readings there were, and every alert in its last form by id.
    """
    heard = fold(winter)
    return heard.readings, heard.alerts


def _winter(arguments: argparse.Namespace) -> Winter:
    try:
        winter = read_winter(arguments.winter, arguments.vessels, arguments.seed, arguments.cadence)
    except DocumentError as error:
        raise TroubleError(f"{error}\n`coldberth replay --list` prints the shipped winters") from error
    except ValueError as error:
        raise TroubleError(f"--cadence: {error}") from error
    if arguments.vessel is None:
        return winter
    ids = [v.id for v in winter.vessels]
    if arguments.vessel not in ids:
        raise TroubleError(f"--vessel {arguments.vessel}: {winter.plan.name} has no such boat, but {_ids(winter)}")
    return winter.alone(ids.index(arguments.vessel))


def _data(name: str, winter: Winter, log: TruthLog, heard: Heard) -> dict[str, Any]:
    truth = truth_of(winter, log, heard)
    told = vessels_of([v.id for v in winter.vessels], winter.truth(), heard.alerts.values(), heard.said)
    return {
        "winter": name,
        "seed": winter.seed,
        "cadence_s": winter.cadence_s,
        "readings": heard.readings,
        "vessels": {v: told[v] | truth[v] for v in told},
    }


def _print_timelines(winter: Winter, log: TruthLog, heard: Heard) -> None:
    zone = ZoneInfo(winter.calendar.zone)
    chars = max(NARROWEST, shutil.get_terminal_size((USUAL_CHARS, 24)).columns)
    print(f"{winter.plan.name}, {winter.plan.begins:%d %B %Y} to {winter.plan.ends:%d %B %Y}, times of {zone.key}")
    for record in winter.vessels:
        print(f"\n{place_of(record)}")
        entries = entries_of(record, winter, log, heard)
        for line in lines_of(entries, zone, chars) if entries else ["  nothing befell her, and nothing was said"]:
            print(line)
    print()


def _print_list() -> None:
    for name in winter_names():
        path = WINTERS / f"{name}.toml"
        print(f"{name:28} {read_plan(path.read_text(encoding='utf-8'), path.name, path.parent).name}")


def _write(path: Path, text: str) -> None:
    try:
        path.write_text(text, encoding="utf-8")
    except OSError as error:
        raise TroubleError(
            f"--picture {path}: {error.strerror}; name a file in a folder that can be written"
        ) from error


def _ids(winter: Winter) -> str:
    ids = [v.id for v in winter.vessels]
    return ", ".join(ids) if len(ids) <= 20 else f"{', '.join(ids[:3])} ... {ids[-1]}"  # noqa: PLR2004


def _positive(text: str) -> int:
    number = int(text)
    if number < 1:
        raise argparse.ArgumentTypeError(f"{text} is none: it begins at 1")
    return number
