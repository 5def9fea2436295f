"""``coldberth publish``: a simulated winter over MQTT, to any broker and at any speed, real time too."""

import argparse
import logging
import re
import socket
import sys
import threading
from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path
from typing import Never

from tqdm import tqdm
from tqdm.contrib.logging import logging_redirect_tqdm

from monitor.cli.stopping import EXIT_INTERRUPTED, stops_on_signal
from monitor.cli.trouble import TroubleError
from monitor.model.document import DocumentError, write_vessel
from simulator.gateway import STORE
from simulator.library import read_winter
from simulator.publish import DAY_MS, Progress, PublisherConfig, publish_winter
from simulator.winter import Winter
from simulator.yard import WINTER

ANSWERS_WITHIN_S = 5.0
REPORT_EVERY_S = 0.5
FASTEST = 1e9
LONGEST_MINUTES = 1e6
MOST_STORED = 1_000_000
# What may stand between the slashes of a topic: a vessel's and a yard's id.
_ID = re.compile(r"[a-z0-9][a-z0-9-]{0,47}")


def add_to(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add the command."""
    parser = commands.add_parser("publish", help="publish a simulated winter over MQTT, in real time or faster")
    parser.add_argument(
        "winter", nargs="?", default=WINTER.stem, metavar="WINTER", help=f"a winter's name or file ({WINTER.stem})"
    )
    parser.add_argument("--host", default="127.0.0.1", help="the broker (127.0.0.1)")
    parser.add_argument("--port", type=_from_to(int, 1, 65_535), default=1883, help="its port (1883)")
    pace = parser.add_mutually_exclusive_group()
    pace.add_argument(
        "--speed",
        type=_from_to(float, 1e-3, FASTEST),
        metavar="X",
        help="seconds of the winter in a second; 1 is real time",
    )
    pace.add_argument(
        "--minutes",
        type=_from_to(float, 0, LONGEST_MINUTES),
        default=10.0,
        metavar="M",
        help="how long the whole winter takes (10; 0: as fast as the broker takes it)",
    )
    parser.add_argument("--yard", type=_id, metavar="Y", help="the yard in the topics (the boats' own)")
    parser.add_argument("--vessels", type=_from_to(int, 1, 100_000), metavar="N", help="how many boats")
    parser.add_argument("--seed", type=int, metavar="S", help="of all chance in the winter")
    parser.add_argument("--cadence", type=int, metavar="SECONDS", help="seconds between packs")
    parser.add_argument("--days", type=_from_to(int, 1, 10_000), metavar="D", help="stop after so many days of it")
    parser.add_argument(
        "--store",
        type=_from_to(int, 1, MOST_STORED),
        default=STORE,
        metavar="N",
        help=f"packs each gateway keeps while the broker is away; it drops the oldest ({STORE})",
    )
    parser.add_argument("--from-now", action="store_true", help="move all its times so that it begins now")
    parser.add_argument(
        "--clock",
        action=argparse.BooleanOptionalAction,
        help="whether to say what time it is, for an agent with journal.clock = 'stream' (yes; no with --from-now)",
    )
    parser.add_argument(
        "--records",
        type=Path,
        metavar="FOLDER",
        help="write the boats' records there first, for coldberth vessel import",
    )
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Run the command."""
    logging.basicConfig(level=logging.WARNING, format="%(levelname)s %(message)s")
    winter = _winter(arguments)
    config = _config(arguments, winter)
    if arguments.records is not None:
        _write_records(arguments.records, winter, config.yard)
    _knock(config.host, config.port)
    if config.from_now and (config.speed is None or config.speed > 1):
        print(
            "--from-now at more than --speed 1: its times run ahead of the wall clock, and an agent that goes by the "
            "wall clock takes readings from the future for a clock fault",
            file=sys.stderr,
        )
    stop = threading.Event()
    with ExitStack() as stack:
        stack.enter_context(stops_on_signal(stop))
        bar = stack.enter_context(_bar(winter, arguments.days))
        stack.enter_context(logging_redirect_tqdm())
        last = Progress()

        def report(now: Progress) -> None:
            nonlocal last
            last = now
            _show(bar, winter, now)

        publish_winter(config, stop.is_set, report)
    lost = f", {last.dropped} packs dropped by full stores" if last.dropped else ""
    print(f"{last.published} readings published{lost}", file=sys.stderr)
    return 0 if last.done else EXIT_INTERRUPTED


def _winter(arguments: argparse.Namespace) -> Winter:
    try:
        return read_winter(arguments.winter, arguments.vessels, arguments.seed, arguments.cadence)
    except (DocumentError, ValueError) as error:
        raise TroubleError(str(error)) from error


def _write_records(folder: Path, winter: Winter, yard: str) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for vessel in winter.vessels:
            text = write_vessel(vessel.model_copy(update={"yard": yard}))
            (folder / f"{vessel.id}.toml").write_text(text, encoding="utf-8")
    except OSError as error:
        raise TroubleError(f"--records {folder}: the records cannot be written: {error}") from error


def _config(arguments: argparse.Namespace, winter: Winter) -> PublisherConfig:
    return PublisherConfig(
        host=arguments.host,
        port=arguments.port,
        minutes=arguments.minutes,
        days=arguments.days,
        yard=winter.vessels[0].yard if arguments.yard is None else arguments.yard,
        winter=lambda: winter,
        speed=arguments.speed,
        store=arguments.store,
        from_now=arguments.from_now,
        says_time=not arguments.from_now if arguments.clock is None else arguments.clock,
        report_every_s=REPORT_EVERY_S,
    )


def _knock(host: str, port: int) -> None:
    """See whether anybody answers: a wrong name is better said at once than tried for ever."""
    try:
        socket.create_connection((host, port), ANSWERS_WITHIN_S).close()
    except OSError as error:
        raise TroubleError(
            f"no broker answers at {host}:{port}: {error}; start one, or name another with --host and --port"
        ) from error


def _bar(winter: Winter, days: int | None) -> "tqdm[Never]":
    return tqdm(
        total=winter.days if days is None else min(days, winter.days),
        file=sys.stderr,
        disable=None,  # shown on a terminal only
        bar_format="{l_bar}{bar}| day {n:.1f} of {total} [{elapsed}<{remaining}]{postfix}",
    )


def _show(bar: "tqdm[Never]", winter: Winter, now: Progress) -> None:
    told = [f"{now.published} readings in"]
    if now.dropped:
        told.append(f"{now.dropped} packs dropped")
    if not now.is_heard:
        told.append("the broker is away")
    bar.set_postfix_str(", ".join(told), refresh=False)
    bar.update((now.at_ms - winter.plan.begins_ms) / DAY_MS - bar.n)


def _from_to(kind: type[int] | type[float], low: float, high: float) -> Callable[[str], float]:
    """Give what reads a number of a kind between two ends, or says what is wrong with it."""

    def read(text: str) -> float:
        try:
            value = kind(text)
        except ValueError as error:
            whole = "a whole number" if kind is int else "a number"
            raise argparse.ArgumentTypeError(f"{text!r} is not {whole}") from error
        if not low <= value <= high:
            raise argparse.ArgumentTypeError(f"{text} is not between {low:g} and {high:g}")
        return value

    return read


def _id(text: str) -> str:
    if not _ID.fullmatch(text):
        raise argparse.ArgumentTypeError(f"{text!r} is no id: lower-case letters, digits and hyphens, 48 at most")
    return text
