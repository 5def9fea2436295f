"""``coldberth score``: whole winters against the truth, the fixed thresholds beside them, and an earlier result."""

import argparse
import os
import shlex
import sys
from collections.abc import Iterable
from dataclasses import asdict
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path

from tqdm import tqdm

from monitor.cli.score_work import Piece, ScoringError, done, pieces_of
from monitor.cli.trouble import TroubleError
from monitor.model.document import DocumentError
from simulator.library import winter_names
from simulator.score.compare import compare
from simulator.score.figures import SIDES, Figures, figures_of
from simulator.score.files import read_result, write_csv
from simulator.score.results import Result, VesselWinter
from simulator.score.rows import BY_NAME
from simulator.score.table import print_changes, print_figures, print_misses

TUNING_SEEDS = range(1, 100)
HELD_OUT_FROM = 1_000
EXIT_MISSED = 1


def add_to(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add the command."""
    parser = commands.add_parser(
        "score",
        help="hold the watch against the truth of simulated winters: caught, missed, how soon, what cried wolf",
        description=f"Seeds {TUNING_SEEDS[0]} to {TUNING_SEEDS[-1]} are for tuning rules; those from {HELD_OUT_FROM} "
        "on are held out: state figures of these, and tune on none of them.",
    )
    parser.add_argument(
        "winters", nargs="*", metavar="WINTER", help="names of the library or files (the whole library)"
    )
    parser.add_argument("--seeds", type=_positive, default=1, metavar="N", help="how many seeds of each winter (1)")
    first = parser.add_mutually_exclusive_group()
    first.add_argument("--first-seed", type=_positive, default=1, metavar="S", help="the first of them (1)")
    first.add_argument("--held-out", action="store_true", help=f"begin at {HELD_OUT_FROM}, the first held-out seed")
    parser.add_argument("--vessels", type=_positive, metavar="N", help="vessels a winter (as it says)")
    parser.add_argument("--jobs", type=_positive, default=_cores(), metavar="J", help="processes (one a core)")
    parser.add_argument("--cadence", type=_positive, metavar="SECONDS", help="seconds between packs (as it says)")
    parser.add_argument("--json", metavar="FILE", help="write the result, to compare later; - prints it instead")
    parser.add_argument("--csv", metavar="FILE", help="write the figures for a spreadsheet")
    parser.add_argument("--against", metavar="FILE", help="say what changed beyond chance against an earlier --json")
    parser.add_argument("--strict", action="store_true", help="exit 1 where a harm went uncaught that must not")
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Run the command."""
    seeds = _seeds(arguments)
    winters = arguments.winters or list(winter_names())
    try:
        earlier = None if arguments.against is None else read_result(Path(arguments.against))
        pieces = pieces_of(winters, seeds, arguments.vessels, arguments.cadence)
        lines = _scored(pieces, arguments.jobs)
    except (DocumentError, ScoringError) as error:
        raise TroubleError(str(error)) from error
    figures = {side: figures_of(lines, side) for side in SIDES}
    changes = [] if earlier is None else compare(earlier.vessel_winters, lines)
    result = Result(
        coldberth=version("coldberth"),
        date=datetime.now(UTC).isoformat(timespec="seconds"),
        command=_command(arguments),
        winters=tuple(winters),
        seeds=tuple(seeds),
        cadence_s=arguments.cadence,
        vessel_winters=tuple(lines),
        figures={
            **{side: f.as_data() for side, f in figures.items()},
            **({} if earlier is None else {"against": arguments.against, "changes": [asdict(c) for c in changes]}),
        },
    )
    _write(result, arguments)
    if arguments.json != "-":
        before = () if earlier is None else earlier.vessel_winters
        compared = print_changes(changes, arguments.against, before, lines)
        _print(result, figures, () if earlier is None else compared)
    missed = sum(r.missed for r in figures["watch"].rows if BY_NAME[r.name].all_caught)
    return EXIT_MISSED if arguments.strict and missed else 0


def _scored(pieces: list[Piece], jobs: int) -> list[VesselWinter]:
    """Do the work under a progress bar, and give the lines in the order of the pieces."""
    found: dict[int, list[VesselWinter]] = {}
    total = sum(len(piece.numbers) for piece in pieces)
    with tqdm(total=total, unit="vessel-winter", file=sys.stderr, disable=not sys.stderr.isatty()) as bar:
        for n, lines in done(pieces, jobs):
            found[n] = lines
            bar.update(len(lines))
    return [line for n in sorted(found) for line in found[n]]


def _print(result: Result, figures: dict[str, Figures], compared: Iterable[str]) -> None:
    print(f"coldberth {result.coldberth}, {result.date}: {result.command}")
    print(f"winters: {', '.join(result.winters)}; {_seed_words(result.seeds)}")
    for line in print_figures(figures["watch"], figures["fixed"]):
        print(line)
    for line in print_misses(result.vessel_winters):
        print(line)
    for line in compared:
        print(line)


def _write(result: Result, arguments: argparse.Namespace) -> None:
    try:
        if arguments.json == "-":
            print(result.model_dump_json(indent=1))
        elif arguments.json is not None:
            Path(arguments.json).write_text(result.model_dump_json(indent=1) + "\n", encoding="utf-8")
        if arguments.csv is not None:
            with Path(arguments.csv).open("w", encoding="utf-8", newline="") as out:
                write_csv(result, out)
    except OSError as error:
        raise TroubleError(
            f"{error.filename}: {error.strerror}; name a file in a folder that can be written"
        ) from error


def _seeds(arguments: argparse.Namespace) -> range:
    first = HELD_OUT_FROM if arguments.held_out else arguments.first_seed
    seeds = range(first, first + arguments.seeds)
    if seeds[0] < HELD_OUT_FROM <= seeds[-1]:
        raise TroubleError(
            f"seeds {seeds[0]} to {seeds[-1]} mix seeds for tuning with held-out ones, which begin at {HELD_OUT_FROM}; "
            "ask for fewer --seeds, or for --held-out"
        )
    return seeds


def _seed_words(seeds: tuple[int, ...]) -> str:
    which = "held out" if seeds[0] >= HELD_OUT_FROM else "for tuning" if seeds[-1] in TUNING_SEEDS else "of neither set"
    return f"seeds {seeds[0]} to {seeds[-1]} ({which})"


def _command(arguments: argparse.Namespace) -> str:
    words = ["coldberth", "score", *arguments.winters, "--seeds", str(arguments.seeds)]
    words += ["--held-out"] if arguments.held_out else ["--first-seed", str(arguments.first_seed)]
    for option in ("vessels", "cadence", "against"):
        value = getattr(arguments, option)
        words += [] if value is None else [f"--{option}", str(value)]
    return shlex.join(words)


def _positive(text: str) -> int:
    number = int(text)
    if number < 1:
        raise argparse.ArgumentTypeError(f"{text} is none: it begins at 1")
    return number


def _cores() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
