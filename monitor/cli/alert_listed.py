"""Alerts as a terminal shows them, read from the journal beside whoever writes it."""

import argparse
import time
from collections.abc import Iterator
from contextlib import contextmanager
from zoneinfo import ZoneInfo

from monitor.cli.run import settings_from
from monitor.cli.trouble import RefusedError, TroubleError
from monitor.messages.words import change_line, priority_words, put_into_words, sentence
from monitor.model.alert import Alert
from monitor.model.scale import AlertState
from monitor.settings import ClockMode, Settings
from monitor.store.view import JournalView
from monitor.web.alert_shown import standing
from monitor.web.clock import YardClock
from monitor.web.ranks import urgency

SHORTEST_BEGINNING = 4
OPEN_AT_MOST = 100_000


def list_alerts(arguments: argparse.Namespace) -> int:
    """List the open alerts, worst first and what is put aside last, a line each."""
    settings = settings_from(arguments.settings)
    with opened(settings) as view:
        vessels = {now.stored.vessel.id: now.stored.vessel for now in view.vessels_now()}
        if arguments.vessel is not None and arguments.vessel not in vessels:
            raise RefusedError(f"no vessel {arguments.vessel!r} in this journal; coldberth vessel list names them")
        clock = yard_clock(settings, view)
        for alert in sorted(view.alerts(open_only=True, vessel=arguments.vessel, limit=OPEN_AT_MOST), key=urgency):
            vessel = vessels[alert.vessel]
            says = f"{sentence(alert, vessel, clock.zone, clock.now_ms)}."
            says = " ".join([says, *_people(alert, clock)])
            print(f"{alert.id}  {_word(alert):14} {vessel.name}, {vessel.place}: {says}")
    return 0


def show_alert(arguments: argparse.Namespace) -> int:
    """Show an alert, and what happened to it."""
    settings = settings_from(arguments.settings)
    with opened(settings) as view:
        alert = found_alert(view, arguments.alert)
        stored = view.record(alert.vessel)
        if stored is None:
            raise TroubleError(f"{alert.id}: its vessel {alert.vessel!r} has no record in this journal")
        clock = yard_clock(settings, view)
        words = put_into_words(alert.finding, stored.vessel, clock.zone, clock.now_ms)
        would = f" (else {priority_words(alert.priority)})" if alert.state.is_aside else ""
        print(f"{alert.id}  {_word(alert)}{would}  {stored.vessel.name}, {stored.vessel.place}")
        print(f"{sentence(alert, stored.vessel, clock.zone, clock.now_ms)}.")
        for line in (words.what, words.how_long, words.sure, *_people(alert, clock)):
            print(f"  {line}")
        for heading, lines in (("Do first", words.first), ("Do not", words.never)):
            if lines:
                print(f"{heading}:", *(f"  {line}" for line in lines), sep="\n")
        print("What happened so far:")
        for event in view.events(alert.id):
            print(f"  {clock.whole(event.at_ms)}  {change_line(event)}")
    return 0


def _word(alert: Alert) -> str:
    if alert.state is AlertState.OUT_OF_SERVICE:
        return "Out of service"
    return "Put aside" if alert.state.is_aside else priority_words(alert.priority)


def _people(alert: Alert, clock: YardClock) -> list[str]:
    """Say how it stands with people; who put it aside until when, the last of it, stands in its sentence already."""
    said = standing(alert, clock)
    return said[:-1] if alert.state.is_aside else said


@contextmanager
def opened(settings: Settings) -> Iterator[JournalView]:
    """Open the journal for reading.

    Raises:
        TroubleError: where there is none.
    """
    path = settings.journal.path
    if not path.exists():
        raise TroubleError(f"{path}: there is no journal yet; coldberth vessel import makes one")
    view = JournalView(path)
    try:
        yield view
    finally:
        view.close()


def found_alert(view: JournalView, written: str) -> Alert:
    """Find an alert by its id, or an open one by how its id begins.

    Raises:
        RefusedError: where there is none, or more than one.
    """
    alert = view.alert(written)
    if alert is not None:
        return alert
    found = []
    if len(written) >= SHORTEST_BEGINNING:
        found = [a for a in view.alerts(open_only=True, limit=OPEN_AT_MOST) if a.id.startswith(written)]
    if len(found) > 1:
        raise RefusedError(f"{written!r} begins {len(found)} ids: {', '.join(a.id for a in found)}")
    if not found:
        raise RefusedError(f"there is no alert {written!r}; coldberth alert list names the open ones")
    return found[0]


def yard_clock(settings: Settings, view: JournalView) -> YardClock:
    """Give the yard's clock: the wall's, or about where the stream has come to."""
    zone = ZoneInfo(settings.yard.zone)
    if settings.journal.clock is ClockMode.WALL:
        return YardClock(zone, time.time_ns() // 1_000_000)
    heard = (now.heard_ms for now in view.vessels_now())
    return YardClock(zone, max((at_ms for at_ms in heard if at_ms is not None), default=0))
