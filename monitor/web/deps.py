"""What the pages are given by whoever puts the parts together."""

from collections.abc import Callable, Sequence
from concurrent.futures import Future
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Protocol
from zoneinfo import ZoneInfo

from monitor.model.access import SignIn
from monitor.model.broker import BrokerAddress
from monitor.model.happened import HappenedView
from monitor.model.in_force import InForce
from monitor.model.inputs import CalendarVersion, Command
from monitor.model.photo import NoPhotos, Photo, PhotoView
from monitor.model.roster import Roster
from monitor.model.views import (
    AlertView,
    CallView,
    ForecastView,
    IntakeView,
    ReadingView,
    RecordView,
    VisitView,
    YardView,
)
from monitor.record.work_list import WorkLists
from monitor.record.work_list_files import work_lists
from monitor.web.changes import Changes
from monitor.web.lines_kept import KeptLines
from monitor.web.panels_kept import KeptPanels
from monitor.web.since_kept import KeptSince
from monitor.web.turns import Turns

LOOPBACK_HOSTS = frozenset({"localhost", "127.0.0.1", "[::1]"})


@dataclass(frozen=True, slots=True)
class Health:
    """How the agent is.

    Attributes:
        connected: whether there is a session with the broker.
        caught_up: whether what the broker had queued has been heard.
        loop_alive: whether the loop that takes inputs runs.
        last_commit_ms: wall time of the last commit (ms UTC), None before the first.
        wall_ms: wall time now, in the same clock.
        since_ms: event time from which it has not been connected, None while it is or where it never was.
        troubles: what else is wrong with the watch itself, one plain sentence each.
        delays: what reaches others late (mail, history), one plain sentence each: shown, and no reason to restart.
    """

    connected: bool
    caught_up: bool
    loop_alive: bool
    last_commit_ms: int | None
    wall_ms: int
    since_ms: int | None = None
    troubles: tuple[str, ...] = ()
    delays: tuple[str, ...] = ()

    @property
    def deaf(self) -> bool:
        """Whether nothing can be heard now."""
        return not (self.connected and self.loop_alive)


class Links(Protocol):
    """Reads the signed links in messages."""

    def read(self, token: str) -> str:
        """Give the id of the notice that a link was written for.

        Raises:
            LinkError: where it is forged or too old, in words.
        """
        ...


def _nobody_sends(_notice: str) -> "Future[str | None]":
    answer: Future[str | None] = Future()
    answer.set_result("Nothing is sent from here.")
    return answer


def _nobody_rings(_vessel: str, _reason: str) -> "Future[str | None]":
    answer: Future[str | None] = Future()
    answer.set_result("Nobody can be rung from here.")
    return answer


def _nobody_keeps(_photos: Sequence[Photo]) -> "Future[str | None]":
    answer: Future[str | None] = Future()
    answer.set_result("No photos are kept here.")
    return answer


@dataclass(frozen=True, slots=True)
class Deps:
    """What `create_app` needs.

    Attributes:
        yard_name: what the yard is called.
        zone: the yard's time zone.
        yard: the yard as it stands now.
        records: lay-up records.
        readings: what sensors said.
        alerts: alerts and their events.
        calls: what people were told, and what has come of it.
        visits: what people who went aboard wrote down.
        intake: what came in and could not be used.
        happened: what happened, in the order it was committed.
        submit: hands a command to the agent. The future's result is an error in words, or None once the command and
            what it brought about have been committed. It refuses who may not do what they ask.
        links: reads the links in messages by which an alert is acknowledged.
        changes: told after each commit which vessels changed.
        now_ms: the agent's event time (in the demo, the simulated time); arrival times stand in the same clock.
        health: how the agent is.
        cache_dir: where the chart bundle is kept, made where it is not there.
        hosts: names and addresses this server may be asked under; a name that is not here is refused, so that no
            foreign page can reach it by letting its own name point here.
        roster: the yard's people, so that who does something is called as the settings have them.
        presses: whose turn it is to press the button of a message's link: it works once.
        calendar: the yard's calendar and since when it is known, None where the settings name none.
        access: who may sign in; None where nobody can.
        open_here: whether the pages are open while nobody has an account: where only this machine reaches them.
        over_tls: whether those who look reach them over TLS, so that a cookie goes over nothing else.
        send_again: has a message tried again that was given up; answers as ``submit`` does.
        ring_duty: has a test message sent to whoever has the duty, for a vessel and with the reason that stands in it;
            answers as ``submit`` does.
        work_lists: what there is to do at lay-up, as it holds for this yard.
        photos: photos of vessels.
        keep_photos: has photos kept; answers as ``submit`` does.
        address: gives what the links that are made here begin with.
        next_told: gives when somebody is told of a call again if nobody has it by then (event time), None where nobody
            is.
        forecasts: what is foretold for the yard, None where nobody asks for it.
        in_force: the settings as they are in force, to be shown.
        since: what changed, as it was made last.
        lines: the yard page's lines as they were made last.
        panels: what the charts show, as it was made last.
        yard_id: the yard's id in topics.
        broker: where the broker is that sensors are heard from, None where that is not known here.
    """

    yard_name: str
    zone: ZoneInfo
    yard: YardView
    records: RecordView
    readings: ReadingView
    alerts: AlertView
    calls: CallView
    visits: VisitView
    intake: IntakeView
    happened: HappenedView
    submit: Callable[[Command], "Future[str | None]"]
    links: Links
    changes: Changes
    now_ms: Callable[[], int]
    health: Callable[[], Health]
    cache_dir: Path
    hosts: frozenset[str] = field(default=LOOPBACK_HOSTS)
    roster: Roster = field(default_factory=Roster)
    presses: Turns = field(default_factory=Turns)
    calendar: CalendarVersion | None = None
    access: SignIn | None = None
    open_here: bool = True
    over_tls: bool = False
    send_again: Callable[[str], "Future[str | None]"] = _nobody_sends
    ring_duty: Callable[[str, str], "Future[str | None]"] = _nobody_rings
    work_lists: WorkLists = field(default_factory=work_lists, repr=False, compare=False)
    photos: PhotoView = field(default_factory=NoPhotos)
    keep_photos: Callable[[Sequence[Photo]], "Future[str | None]"] = _nobody_keeps
    address: Callable[[], str] = lambda: ""
    next_told: Callable[[str], int | None] = lambda _call: None
    forecasts: ForecastView | None = None
    in_force: InForce = field(default_factory=InForce)
    since: "KeptSince[Any]" = field(default_factory=KeptSince, repr=False, compare=False)
    lines: KeptLines = field(default_factory=KeptLines, repr=False, compare=False)
    panels: KeptPanels = field(default_factory=KeptPanels, repr=False, compare=False)
    yard_id: str = "yard"
    broker: BrokerAddress | None = None
