"""A yard whose telling is fed by hand: alerts that open, rise, clear and are seen, and clocks."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from boats import DAY, HOUR, LAID_UP_MS, MINUTE, boat

from monitor.model.alert import Alert, AlertChange, AlertEvent, alert_id
from monitor.model.batch import Batch
from monitor.model.finding import Figure, Finding, TimeToHarm
from monitor.model.inputs import Aboard, Clock, EndSuppression, Suppress
from monitor.model.notice import Notice
from monitor.model.people import Channel, ChannelKind, Duty, Ladder, QuietHours, Role, Rota, YardPerson
from monitor.model.roster import Roster
from monitor.model.scale import AlertState, Priority, Sure
from monitor.model.surroundings import YardCalendar
from monitor.model.vessel import Vessel
from monitor.telling import Telling

T0 = LAID_UP_MS + 3 * DAY  # Monday 4 November 2013, 09:00 UTC
RING = Channel(kind=ChannelKind.WEBHOOK, address="https://hooks.example/anna", rings=True)
ANNA = YardPerson(id="anna", name="Anna", email="anna@yard.example", channels=(RING,))
BEN = YardPerson(id="ben", name="Ben", email="ben@yard.example")
CARL = YardPerson(id="carl", name="Carl", email="carl@yard.example", roles=(Role.MANAGER,))
ROTA = Rota(usual=Duty(first=("anna",), second=("ben",), manager=("carl",)))
SHORT = {"email": "", "webhook": "!"}
_STATES = {
    AlertChange.OPENED: AlertState.UNACKNOWLEDGED,
    AlertChange.REOPENED: AlertState.UNACKNOWLEDGED,
    AlertChange.BACK: AlertState.UNACKNOWLEDGED,
    AlertChange.ACKNOWLEDGED: AlertState.ACKNOWLEDGED,
    AlertChange.CONFIRMED: AlertState.ACKNOWLEDGED,
    AlertChange.ACCEPTED: AlertState.ACKNOWLEDGED,
    AlertChange.RETURNED: AlertState.RETURNED_UNACKNOWLEDGED,
    AlertChange.LATCHED: AlertState.LATCHED,
    AlertChange.SHELVED: AlertState.SHELVED,
    AlertChange.SUPPRESSED: AlertState.SUPPRESSED,
    AlertChange.OUT_OF_SERVICE: AlertState.OUT_OF_SERVICE,
    AlertChange.ENDED: AlertState.NORMAL,
}


def people(**quiet: tuple[str, str]) -> tuple[YardPerson, ...]:
    """Anna, Ben and Carl, some with quiet hours."""
    hours = {who: QuietHours.model_validate({"begins": b, "ends": e}) for who, (b, e) in quiet.items()}
    return tuple(p.model_copy(update={"quiet": hours.get(p.id)}) for p in (ANNA, BEN, CARL))


class Told:
    """A telling, what was fed to it, and what it planned."""

    def __init__(
        self, boats: int = 1, everybody: Sequence[YardPerson] = (ANNA, BEN, CARL), rota: Rota = ROTA, **ladder: Any
    ) -> None:
        self.vessels = {v.id: v for v in (_boat(n) for n in range(1, boats + 1))}
        self.roster, self.calendar = Roster(tuple(everybody), rota), YardCalendar(zone="UTC")
        self.ladder = Ladder(**ladder)
        self.telling = self.made(None)
        self.notices: list[Notice] = []
        self.calls: dict[str, Any] = {}
        self.kept: str | None = None
        self.seq = 0
        self.alerts: dict[str, Alert] = {}
        self.fed: list[Batch] = []

    def made(self, text: str | None) -> Telling:
        return Telling(self.roster, self.ladder, self.calendar, text)

    def record(self, vessel: str) -> Vessel | None:
        return self.vessels.get(vessel)

    def feed(self, batch: Batch) -> None:
        self.fed.append(batch)
        self.telling.take(batch, self.record)
        self.notices += batch.notices
        self.calls |= batch.calls
        self.kept = batch.telling or self.kept

    def clock(self, at_min: float) -> None:
        self.seq += 1
        self.feed(Batch(inputs=[(self.seq, Clock(T0 + round(at_min * MINUTE)))], last_seq=self.seq))

    def aboard(self, at_min: float, actor: str, until_min: float, reason: Aboard = Aboard.PEOPLE) -> None:
        self.seq += 1
        until_ms = T0 + round(until_min * MINUTE)
        item = Suppress("boat-1", T0 + round(at_min * MINUTE), actor, reason, until_ms)
        self.feed(Batch(inputs=[(self.seq, item)], last_seq=self.seq))

    def ashore(self, at_min: float) -> None:
        self.seq += 1
        item = EndSuppression("boat-1", T0 + round(at_min * MINUTE), "anna")
        self.feed(Batch(inputs=[(self.seq, item)], last_seq=self.seq))

    def event(
        self,
        at_min: float,
        change: AlertChange,
        what: str = "frost/heads",
        priority: Priority = Priority.WARNING,
        *,
        vessel: str = "boat-1",
        harm_h: float | None = None,
        actor: str = "watch",
        water: bool = False,
        state: AlertState | None = None,
        to: str = "",
        until_min: float | None = None,
    ) -> None:
        """Let something happen to an alert."""
        self.seq += 1
        batch = self.batch_of(at_min, change, what, priority, vessel, harm_h, actor, water=water, state=state)
        ((seq, place, event),) = batch.events
        until_ms = None if until_min is None else T0 + round(until_min * MINUTE)
        batch.events = [(seq, place, replace(event, to=to, note=to, until_ms=until_ms))]
        self.feed(batch)

    def batch_of(
        self,
        at_min: float,
        change: AlertChange,
        what: str,
        priority: Priority,
        vessel: str,
        harm_h: float | None,
        actor: str,
        *,
        water: bool,
        state: AlertState | None,
    ) -> Batch:
        rule, subject = what.split("/")
        at_ms = T0 + round(at_min * MINUTE)
        harm = None if harm_h is None else TimeToHarm(harm_h * 3600, None)
        finding = Finding(
            rule, subject, "k", priority, Figure(None, None, ""), harm, Sure.LIKELY, (), (), (), always_told=water
        )
        key = f"{vessel}/{what}"
        if key not in self.alerts:
            self.alerts[key] = Alert(
                alert_id(vessel, rule, subject, at_ms), vessel, rule, subject, AlertState.NORMAL, priority, priority,
                at_ms, finding,
            )  # fmt: skip
        alert = self.alerts[key]
        was = alert.priority
        if change is AlertChange.HANDED_OVER:
            state = state or alert.state
        if change is AlertChange.PRIORITY:
            state = state or (AlertState.UNACKNOWLEDGED if priority > was else alert.state)
        alert.state, alert.priority, alert.finding = state or _STATES[change], priority, finding
        moved = AlertEvent(alert.id, vessel, at_ms, change, alert.state, priority, actor, "", was, finding)
        if alert.state is AlertState.NORMAL:
            del self.alerts[key]
        return Batch(events=[(self.seq, 0, moved)], alerts={alert.id: replace(alert)}, last_seq=self.seq)

    def lines(self, *, owners: bool | None = None) -> list[str]:
        """Give what was planned as ``minutes who kind``, a ``!`` after what rings; owners alone, or the yard alone."""
        return [
            f"{(n.at_ms - T0) / MINUTE:g} {n.person} {n.kind}{SHORT[n.channel]}"
            for n in self.notices
            if owners is None or n.owner is owners
        ]


def _boat(number: int) -> Vessel:
    owner = {"name": f"Owner {number}", "email": f"owner-{number}@example.org"}
    return boat(id=f"boat-{number}", name=f"Boat {number}", plot=f"A{number}", owner=owner)


__all__ = ["ANNA", "BEN", "CARL", "HOUR", "T0", "Told", "people"]
