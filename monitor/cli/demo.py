"""``coldberth demo``: broker, agent, simulated boats and pages together, through one real winter."""

import argparse
import json
import logging
import shutil
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from datetime import date, datetime
from datetime import time as dt_time
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from monitor.agent import Agent
from monitor.cli.demo_live import LiveLine
from monitor.cli.demo_phones import ROTA, Phones, telephones
from monitor.cli.outcome import CALENDAR, print_vessels, vessels_of
from monitor.cli.stopping import EXIT_INTERRUPTED, stops_on_signal
from monitor.cli.trouble import TroubleError
from monitor.intake.broker import BrokerConfig
from monitor.model.inputs import RecordVersion
from monitor.settings import ClockMode, Journal, Settings, Web, Yard
from monitor.store.view import JournalView
from simulator.broker import Broker, start_broker
from simulator.publish import Progress, Publisher, PublisherConfig, start_publisher
from simulator.winter import Winter, yard_winter

YARD_NAME = "Eiderhythe Boatyard"
JOURNAL = "journal.sqlite"
LONGEST_MINUTES = 100_000
WINTER_MINUTES = 10.0
LIVE_DAY = date(2014, 2, 25)
"""The night of the seacock was the one before: most faults stand."""
LIVE_AT = dt_time(9)
LOOK_EVERY_S = 0.2
CATCH_UP_WITHIN_S = 60.0


def add_to(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add the command."""
    parser = commands.add_parser("demo", help="watch twelve invented boats through one real winter")
    parser.add_argument("--minutes", type=_minutes, help="how long the winter takes (10); with --live: to its day (0)")
    parser.add_argument(
        "--live",
        type=_day,
        nargs="?",
        const=LIVE_DAY,
        metavar="DAY",
        help=f"to nine in the morning of this day in haste, and from there at the pace of your clock ({LIVE_DAY})",
    )
    parser.add_argument("--port", type=int, default=8080, help="port of the pages on loopback (8080; 0: any free one)")
    parser.add_argument("--headless", action="store_true", help="no pages; end with the winter")
    parser.add_argument("--json", action="store_true", help="print one JSON object at the end, and nothing else")
    parser.add_argument("--cadence", type=int, default=3600, metavar="SECONDS", help="seconds between packs (3600)")
    parser.add_argument("--keep", type=Path, metavar="FOLDER", help="keep the journal there; it must be empty or new")
    parser.set_defaults(run=run)


def _minutes(text: str) -> float:
    value = float(text)
    if not 0 <= value <= LONGEST_MINUTES:
        raise argparse.ArgumentTypeError(f"minutes are from 0 (as fast as it can) to {LONGEST_MINUTES}")
    return value


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(f"{text!r} is no day; write it as {LIVE_DAY}") from error


def _live_from_ms(day: date | None, winter: Winter) -> int | None:
    """Give when the demo begins to go at the pace of the wall, ms UTC."""
    if day is None:
        return None
    zone = ZoneInfo(CALENDAR.zone)
    live_ms = round(datetime.combine(day, LIVE_AT, zone).timestamp() * 1000)
    if not winter.plan.begins_ms < live_ms < winter.plan.ends_ms:
        first, last = (datetime.fromtimestamp(ms / 1000, zone) for ms in (winter.plan.begins_ms, winter.plan.ends_ms))
        raise TroubleError(f"--live {day}: this winter goes from {first:%F %H:%M} to {last:%F %H:%M}")
    return live_ms


def run(arguments: argparse.Namespace) -> int:
    """Run the command."""
    logging.basicConfig(level=logging.WARNING, format="%(levelname)s %(name)s: %(message)s")
    try:
        winter = yard_winter(arguments.cadence)
    except ValueError as error:
        raise TroubleError(f"--cadence: {error}") from error
    live_from_ms = _live_from_ms(arguments.live, winter)
    minutes = arguments.minutes
    if minutes is None:
        minutes = WINTER_MINUTES if live_from_ms is None else 0.0
    stop = threading.Event()
    with ExitStack() as stack:
        stack.enter_context(stops_on_signal(stop))
        folder = stack.enter_context(_folder(arguments.keep))
        broker = start_broker()
        stack.callback(broker.stop)
        phones = stack.enter_context(telephones())
        agent = _agent(arguments, winter, folder, broker, phones)
        publisher: Publisher | None = None
        phones.is_live = lambda: live_from_ms is not None and agent.now_ms() >= live_from_ms
        try:
            agent.start()
            _import(agent, winter)
            if not arguments.headless:
                print(f"pages:  {agent.address}   (Ctrl-C ends it)", file=sys.stderr)
                print(f"broker: {broker.host}:{broker.port}   (MQTT 3.1.1)", file=sys.stderr, flush=True)
            _until(stop, lambda: agent.writer.caught_up, CATCH_UP_WITHIN_S)
            config = PublisherConfig(broker.host, broker.port, minutes, arguments.cadence, live_from_ms=live_from_ms)
            publisher = start_publisher(config)
            progress = _watch(agent, publisher, winter, stop, LiveLine(live_from_ms))
            if progress.done and not arguments.headless:
                print("the winter is over; the pages stay until Ctrl-C", file=sys.stderr, flush=True)
                stop.wait()
        finally:
            if publisher is not None:
                publisher.stop()
            agent.stop()
        if not progress.done:
            return EXIT_INTERRUPTED
        if arguments.json:
            json.dump(_outcome(folder, winter, progress), sys.stdout, indent=1)
            print()
        elif arguments.headless:
            outcome = _outcome(folder, winter, progress)
            print_vessels(winter.vessels, outcome["vessels"])
            print(f"{outcome['published']} readings published, {outcome['stored']} stored")
    return 0


def _agent(arguments: argparse.Namespace, winter: Winter, folder: Path, broker: Broker, phones: Phones) -> Agent:
    settings = Settings(
        yard=Yard(id=winter.vessels[0].yard, name=YARD_NAME, calendar=CALENDAR),
        journal=Journal(path=folder / JOURNAL, clock=ClockMode.STREAM),
        broker=BrokerConfig(host=broker.host, port=broker.port, protocol="3.1.1"),
        people=phones.people,
        rota=ROTA,
        webhook=phones.webhook,
        web=Web(enabled=not arguments.headless, port=arguments.port),
    )
    try:
        return Agent(settings)
    except OSError as error:
        raise TroubleError(f"the demo cannot start: {error}; --port names another port") from error


def _import(agent: Agent, winter: Winter) -> None:
    for vessel in winter.vessels:
        answer = agent.submit(RecordVersion(vessel, winter.plan.begins_ms, vessel.engineer))
        if (error := answer.result(CATCH_UP_WITHIN_S)) is not None:
            raise TroubleError(error)


def _watch(agent: Agent, publisher: Publisher, winter: Winter, stop: threading.Event, live: LiveLine) -> Progress:
    """Show how far it is until everything published is stored, or somebody stops it."""
    shown = sys.stderr.isatty()
    stored_before, grew = 0, time.monotonic()
    progress = Progress()
    while not stop.wait(LOOK_EVERY_S):
        progress = publisher.progress()
        stored = agent.writer.stored
        live.at(agent.now_ms())
        if shown:
            alerts = len(agent.view.alerts(open_only=True))
            line = f"day {progress.day} of {winter.days}   {stored} readings in   {alerts} open alerts"
            print(f"\r{line:70}", end="", file=sys.stderr, flush=True)
        if progress.done and stored == progress.published:
            break
        if not publisher.is_running and not progress.done:
            raise TroubleError(f"the simulator ended before the winter (exit status {publisher.exit_code})")
        if agent.died is not None:
            raise TroubleError(f"the agent stopped: {agent.died}")
        if stored > stored_before or not progress.done:
            stored_before, grew = stored, time.monotonic()
        elif time.monotonic() - grew > CATCH_UP_WITHIN_S:
            raise TroubleError(
                f"{progress.published} readings were published and {stored} are stored, and no more come"
            )
    if shown:
        print(file=sys.stderr)
    return progress


def _outcome(folder: Path, winter: Winter, progress: Progress) -> dict[str, Any]:
    view = JournalView(folder / JOURNAL)
    alerts = view.alerts(open_only=False, limit=100_000)
    stored = view.stored()
    view.close()
    return {
        "cadence_s": winter.cadence_s,
        "published": progress.published,
        "stored": stored,
        "vessels": vessels_of([v.id for v in winter.vessels], winter.truth(), alerts),
    }


@contextmanager
def _folder(keep: Path | None) -> Iterator[Path]:
    """Give a folder for the journal: a new one that is removed at the end, or the one to keep."""
    if keep is None:
        folder = Path(tempfile.mkdtemp(prefix="coldberth-demo-"))
        try:
            yield folder
        finally:
            shutil.rmtree(folder, ignore_errors=True)
        return
    keep.mkdir(parents=True, exist_ok=True)
    if any(keep.iterdir()):
        raise TroubleError(f"--keep {keep}: the folder is not empty; name a new one")
    yield keep


def _until(stop: threading.Event, reached: Callable[[], bool], within_s: float) -> None:
    until = time.monotonic() + within_s
    while not reached() and not stop.is_set():
        if time.monotonic() > until:
            raise TroubleError("the agent does not hear the demo's broker; is something in the way on loopback?")
        time.sleep(0.02)
