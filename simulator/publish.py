"""A winter published over MQTT from a child process, at any pace.

Packs go to ``layup/<yard>/<vessel>/readings`` as SenML, clock messages to ``layup/<yard>/agent/clock`` as integer
milliseconds, all on one connection in the order of their time. The clock has a topic of as many parts as the packs
have, so that one subscription takes in both: brokers keep the order of one subscription, not that across several.
"""

import multiprocessing
import signal
from collections.abc import Callable
from dataclasses import dataclass
from multiprocessing.connection import Connection
from multiprocessing.synchronize import Event
from time import monotonic

from monitor.intake.senml import encode_pack
from simulator.link import Link, Stopped
from simulator.winter import Pack, yard_winter
from simulator.yard import CADENCE_S, YARD

DAY_MS = 86_400_000
STOPS_WITHIN_S = 5.0
FAREWELL_S = 1.0


@dataclass(frozen=True, slots=True)
class PublisherConfig:
    """What to publish where, and how fast.

    Attributes:
        host: the broker.
        port: its port.
        minutes: wall-clock minutes that the whole winter takes; 0 is as fast as it can.
        cadence_s: seconds between a gateway's packs.
        days: how many days of the winter, None for all.
        yard: first part of the topics.
        window: how many messages may be unacknowledged.
    """

    host: str
    port: int
    minutes: float = 10.0
    cadence_s: int = CADENCE_S
    days: int | None = None
    yard: str = YARD
    window: int = 500


@dataclass(frozen=True, slots=True)
class Progress:
    """How far the publisher is.

    Attributes:
        day: day of the winter, from 1.
        published: readings that the broker has acknowledged.
        done: whether the whole winter is published and acknowledged.
    """

    day: int = 0
    published: int = 0
    done: bool = False


def publish_winter(config: PublisherConfig, stopped: Callable[[], bool], report: Callable[[Progress], None]) -> None:
    """Publish the yard's winter, until its end or until stopped.

    Args:
        config: what to publish where, and how fast.
        stopped: asked at least twice a second.
        report: told once a day of the winter, and at the end.
    """
    winter = yard_winter(config.cadence_s)
    begins_ms = winter.plan.begins_ms
    ends_ms = winter.plan.ends_ms
    last_ms = ends_ms if config.days is None else min(begins_ms + config.days * DAY_MS - 1, ends_ms)
    wall_s_per_ms = config.minutes * 60 / (ends_ms - begins_ms)
    link = Link(config.host, config.port, f"coldberth-simulator-{config.yard}", config.window, stopped)
    day = 0
    try:
        link.connect()
        started = monotonic()
        for message in winter.stream():
            if isinstance(message, Pack):
                topic = f"layup/{config.yard}/{message.vessel}/readings"
                link.publish(topic, encode_pack(message.readings), len(message.readings))
                continue
            if message.at_ms > last_ms:
                break
            _wait(link, started + (message.at_ms - begins_ms) * wall_s_per_ms)
            if winter.day_of(message.at_ms) != day:
                day = winter.day_of(message.at_ms)
                report(Progress(day, link.acknowledged))
            link.publish(f"layup/{config.yard}/agent/clock", str(message.at_ms).encode(), 0)
        link.drain()
        report(Progress(day, link.acknowledged, done=True))
    except Stopped:
        pass
    finally:
        link.close(FAREWELL_S)


def _wait(link: Link, until: float) -> None:
    while (left_s := until - monotonic()) > 0:
        link.attend(min(left_s, 0.5))


def run_publisher(config: PublisherConfig, progress: Connection, stop: Event) -> None:
    """Be the child process: publish, and send a `Progress` a day. SIGTERM and the event both end it cleanly.

    A winter's reports are a few kilobytes, less than the pipe holds: nobody has to read them for it to go on.
    """
    # Ctrl-C reaches the whole group; the parent decides when to stop us.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, lambda *_: stop.set())

    def report(now: Progress) -> None:
        try:
            progress.send(now)
        except (BrokenPipeError, ConnectionError):
            stop.set()

    publish_winter(config, stop.is_set, report)


class Publisher:
    """The child process, seen from its parent."""

    def __init__(self, config: PublisherConfig) -> None:
        context = multiprocessing.get_context("spawn")
        self._reports, sending = context.Pipe(duplex=False)
        self._stop = context.Event()
        self._latest = Progress()
        self._process = context.Process(
            target=run_publisher, args=(config, sending, self._stop), name="coldberth-simulator", daemon=True
        )
        self._process.start()
        sending.close()

    @property
    def is_running(self) -> bool:
        """Whether the child runs."""
        return self._process.is_alive()

    @property
    def exit_code(self) -> int | None:
        """How the child ended, None while it runs."""
        return self._process.exitcode

    @property
    def pid(self) -> int | None:
        """The child's process id."""
        return self._process.pid

    def wait(self, within_s: float) -> None:
        """Wait until the child has ended, at most for a time."""
        self._process.join(within_s)

    def progress(self) -> Progress:
        """Give the latest report; it does not wait."""
        try:
            while self._reports.poll():
                self._latest = self._reports.recv()
        except EOFError:
            pass
        return self._latest

    def stop(self) -> None:
        """Stop it. Safe to call twice."""
        self._stop.set()
        self._process.join(STOPS_WITHIN_S)
        if self._process.is_alive():
            self._process.kill()
            self._process.join()


def start_publisher(config: PublisherConfig) -> Publisher:
    """Start publishing in a child process."""
    return Publisher(config)
