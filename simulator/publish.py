"""A winter published over MQTT from a child process, at any pace.

Packs go to ``layup/<yard>/<vessel>/readings`` as SenML, clock messages to ``layup/<yard>/agent/clock`` as integer
milliseconds, all on one connection in the order of their time. The clock has a topic of as many parts as the packs
have, so that one subscription takes in both: brokers keep the order of one subscription, not that across several.
"""

import logging
import multiprocessing
import signal
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from multiprocessing.synchronize import Event
from time import monotonic

from monitor.model.parcel import ClockMessage
from simulator.link import Link, Stopped
from simulator.pace import Pace
from simulator.winter import Pack, Winter, yard_winter
from simulator.wire import Wire
from simulator.yard import CADENCE_S, YARD

log = logging.getLogger(__name__)

DAY_MS = 86_400_000
STOPS_WITHIN_S = 5.0
FAREWELL_S = 1.0
TELLS_TIME_EVERY_S = 5.0
"""How often the time is told between two packs, where the winter goes at the pace of the wall."""


@dataclass(frozen=True, slots=True)
class PublisherConfig:
    """What to publish where, and how fast.

    Attributes:
        host: the broker.
        port: its port.
        minutes: wall-clock minutes that the whole winter takes; 0 is as fast as it can.
        cadence_s: seconds between a gateway's packs, where no winter is given.
        days: how many days of the winter, None for all.
        yard: first part of the topics.
        window: how many messages may be unacknowledged.
        winter: makes the winter, in the process that publishes it: a module's function or a `functools.partial` of
            one. The invented yard's where None.
        speed: seconds of the winter in a second of the wall clock; 1 is real time. It goes before `minutes`.
        store: how many messages each gateway keeps while the broker is away, where the winter goes on meanwhile. None,
            or a winter as fast as it can: the winter waits for the broker.
        from_now: whether all times are moved so that the winter begins now.
        says_time: whether clock messages are published, for an agent that takes the time from them.
        live_from_ms: the time of the winter, ms UTC, from which on it goes at the pace of the wall; what is before it
            takes ``minutes``. None: it never does.
        report_every_s: seconds between reports, beside those of each day; None for no others.
    """

    host: str
    port: int
    minutes: float = 10.0
    cadence_s: int = CADENCE_S
    days: int | None = None
    yard: str = YARD
    window: int = 500
    winter: Callable[[], Winter] | None = None
    speed: float | None = None
    store: int | None = None
    from_now: bool = False
    says_time: bool = True
    report_every_s: float | None = None
    live_from_ms: int | None = None

    def wall_s_per_ms(self, length_ms: int) -> float:
        """Give the seconds of the wall clock in a millisecond of a winter of a length."""
        return 1 / (1000 * self.speed) if self.speed is not None else self.minutes * 60 / length_ms


@dataclass(frozen=True, slots=True)
class Progress:
    """How far the publisher is.

    Attributes:
        day: day of the winter, from 1.
        published: readings that the broker has acknowledged.
        done: whether the whole winter is published and acknowledged.
        dropped: packs that full stores have dropped.
        at_ms: the winter's time, ms UTC, not moved.
        is_heard: whether the broker hears us.
    """

    day: int = 0
    published: int = 0
    done: bool = False
    dropped: int = 0
    at_ms: int = field(default=0, compare=False)
    is_heard: bool = field(default=True, compare=False)


def publish_winter(config: PublisherConfig, stopped: Callable[[], bool], report: Callable[[Progress], None]) -> None:
    """Publish a winter, until its end or until stopped.

    Args:
        config: what to publish where, and how fast.
        stopped: asked at least twice a second.
        report: told once a day of the winter, as often beside as the config says, and at the end.
    """
    winter = yard_winter(config.cadence_s) if config.winter is None else config.winter()
    plan = winter.plan
    last_ms = plan.ends_ms if config.days is None else min(plan.begins_ms + config.days * DAY_MS - 1, plan.ends_ms)
    wall_s_per_ms = config.wall_s_per_ms((config.live_from_ms or plan.ends_ms) - plan.begins_ms)
    pace = Pace(plan.begins_ms, wall_s_per_ms, config.live_from_ms)
    store = config.store if wall_s_per_ms > 0 else None
    link = Link(config.host, config.port, f"coldberth-simulator-{config.yard}", config.window, stopped, store)
    reports = _Reports(config, winter, link, report)
    try:
        link.connect()
        pace.started = monotonic()
        wire = Wire(config.yard, round(time.time() * 1000) - plan.begins_ms if config.from_now else 0)
        for message in winter.stream():
            if isinstance(message, ClockMessage):
                if message.at_ms > last_ms:
                    break
                for between_ms in _until(link, pace, message.at_ms):
                    if config.says_time:
                        link.publish(wire.topics.clock, str(between_ms + wire.shift_ms).encode(), 0)
                reports.look(message.at_ms)
                if not config.says_time:
                    continue
            written = wire.write(message)
            if written is None:
                log.warning("a new version of a record does not go over MQTT; it is to be imported where it is wanted")
                continue
            if isinstance(message, Pack):
                link.publish(*written, len(message.readings), message.vessel, retain=message.retained)
            else:
                link.publish(*written, 0)
        link.drain()
        reports.give(done=True)
    except Stopped:
        link.close(FAREWELL_S)
        reports.give()
    finally:
        link.close(FAREWELL_S)


class _Reports:
    """When to report, and what."""

    def __init__(self, config: PublisherConfig, winter: Winter, link: Link, report: Callable[[Progress], None]) -> None:
        self._every_s = config.report_every_s
        self._winter = winter
        self._link = link
        self._report = report
        self._day = 0
        self._at_ms = winter.plan.begins_ms
        self._reported_at = monotonic()

    def look(self, at_ms: int) -> None:
        """Report, where it is time to."""
        self._at_ms = at_ms
        day = self._winter.day_of(at_ms)
        if day != self._day or (self._every_s is not None and monotonic() - self._reported_at >= self._every_s):
            self._day = day
            self.give()

    def give(self, *, done: bool = False) -> None:
        """Report."""
        self._reported_at = monotonic()
        link = self._link
        self._report(Progress(self._day, link.acknowledged, done, link.dropped, self._at_ms, link.is_up))


def _until(link: Link, pace: Pace, at_ms: int) -> Iterator[int]:
    """Wait until a time of the winter is due; give what time it is now and then, where a second takes a second."""
    due = pace.due(at_ms)
    tells = monotonic() + TELLS_TIME_EVERY_S
    while (left_s := due - (now := monotonic())) > 0:
        if now >= tells and (between_ms := pace.now_ms(now)) is not None:
            tells = now + TELLS_TIME_EVERY_S
            yield min(between_ms, at_ms)
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
