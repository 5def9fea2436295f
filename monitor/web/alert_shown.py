"""An alert as the pages show it: in words, with who has it, and what can be done about it."""

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from monitor.alerting.limits import LIMITS
from monitor.messages.words import Words, change_line, put_into_words
from monitor.model.alert import Alert
from monitor.model.scale import AlertState, Priority
from monitor.model.vessel import Vessel
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.ranks import Rank, rank_of, waits_for_visit
from monitor.web.until import aside_until_ms

_ASIDE = {
    AlertState.SHELVED: "Put aside",
    AlertState.SUPPRESSED: "Put aside while somebody is aboard",
    AlertState.OUT_OF_SERVICE: "Out of service",
}


@dataclass(frozen=True, slots=True)
class AlertShown:
    """An alert as a page shows it.

    Attributes:
        standing: who has it and how it stands with people, one sentence each.
        log: what happened to it, oldest first.
        aside_until: until when it is put aside if nobody says otherwise, as a form's field takes it.
        aside_most: the latest time it can be put aside until, in the same form.
    """

    alert: Alert
    rank: Rank
    words: Words
    standing: tuple[str, ...]
    log: tuple[tuple[int, str], ...]
    aside_until: str
    aside_most: str

    @property
    def word(self) -> str:
        """The word beside its shape."""
        return _ASIDE.get(self.alert.state, self.rank.word)

    @property
    def is_aside(self) -> bool:
        """Whether it is put aside."""
        return self.alert.state.is_aside

    @property
    def can_come_back(self) -> bool:
        """Whether a person can bring it back: what is done aboard ends for the whole vessel."""
        return self.alert.state in {AlertState.SHELVED, AlertState.OUT_OF_SERVICE}

    @property
    def wants_seeing(self) -> bool:
        """Whether nobody has said yet that they have seen it."""
        return self.alert.acknowledged_ms is None and not self.is_aside

    @property
    def wants_visit(self) -> bool:
        """Whether it waits for somebody to go aboard."""
        return waits_for_visit(self.alert) and not self.is_aside


def shown_alert(deps: Deps, alert: Alert, vessel: Vessel, clock: YardClock, *, for_owner: bool = False) -> AlertShown:
    """Give an alert as a page shows it, with its log; an owner reads no notes of the yard's people."""
    words = put_into_words(alert.finding, vessel, clock.zone, clock.now_ms)
    events = [] if for_owner else deps.alerts.events(alert.id)
    log = tuple((e.at_ms, change_line(e)) for e in events)
    most_ms = clock.now_ms + LIMITS.ms("shelf_most_alarm" if alert.priority is Priority.ALARM else "shelf_most")
    until_ms = min(aside_until_ms(alert.priority, clock.now_ms, clock.zone), most_ms)
    return AlertShown(
        alert=alert,
        rank=rank_of(alert),
        words=words,
        standing=tuple(standing(alert, clock, notes=not for_owner)),
        log=log,
        aside_until=form_time(until_ms, clock.zone),
        aside_most=form_time(most_ms, clock.zone),
    )


def standing(alert: Alert, clock: YardClock, *, notes: bool = True) -> list[str]:
    """Say how an alert stands with people, a sentence each, with or without why it is put aside."""
    said = []
    if alert.acknowledged_by is not None:
        at = "" if alert.acknowledged_ms is None else f" {clock.at(alert.acknowledged_ms)}"
        said.append(f"Seen by {alert.acknowledged_by}{at}.")
    if alert.has_it is not None:
        said.append(f"{alert.has_it} has it.")
    if alert.offered_to is not None:
        said.append(f"Offered to {alert.offered_to}, who has not said yes yet.")
    if alert.confirmed_by is not None:
        at = "" if alert.confirmed_ms is None else f" {clock.at(alert.confirmed_ms)}"
        said.append(f"{alert.confirmed_by} was aboard{at}{'; it stands on' if alert.returned_ms is None else ''}.")
    if alert.state.is_aside:
        said.append(_put_aside(alert, clock, notes=notes))
    elif waits_for_visit(alert):
        said.append("It has cleared, and stays here until somebody has been aboard.")
    return said


def _put_aside(alert: Alert, clock: YardClock, *, notes: bool) -> str:
    done = "Taken out of service" if alert.state is AlertState.OUT_OF_SERVICE else "Put aside"
    by = "" if alert.aside_by is None else f" by {alert.aside_by}"
    until = "" if alert.aside_until_ms is None else f" until {clock.at(alert.aside_until_ms)}"
    why = alert.aside_why.rstrip(".") if notes else ""
    return f"{done}{by}{until}{': ' if why else ''}{why}."


def form_time(at_ms: int, zone: ZoneInfo) -> str:
    """Give a time as a form's field takes it, in yard time, to the minute."""
    return f"{datetime.fromtimestamp(at_ms / 1000, zone):%Y-%m-%dT%H:%M}"
