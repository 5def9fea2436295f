"""Who is told of what, and why. Pure: events in, notices out, the same ones whenever it is asked.

Warnings and alarms go by e-mail to the yard's duty people and to the vessel's owner, each person once a change: when
one opens, when its priority rises, when it clears, comes back and ends. Cautions are not mailed: nobody need get up for
one, they stand on the page, and a message each would teach people to delete ours unread. They belong into a daily
digest. Whoever was told that an alert opened is told how it ended, even where it was a caution by then. An
acknowledgement is not mailed either: whoever gave it knows, and the page shows it.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from monitor.model.alert import Alert, AlertChange, AlertEvent
from monitor.model.notice import Notice
from monitor.model.outbox import notice_id
from monitor.model.scale import Priority
from monitor.model.vessel import Person, Vessel

EMAIL = "email"
MAILED_FROM = Priority.WARNING


@dataclass(frozen=True, slots=True)
class Verdict:
    """Whether an event is told by e-mail, and why or why not."""

    told: bool
    reason: str


def plan(
    events: Sequence[tuple[int, int, AlertEvent]],
    alerts: Mapping[str, Alert],
    vessel: Callable[[str], Vessel | None],
    people: Sequence[Person],
) -> list[Notice]:
    """Plan the notices that a batch of events asks for.

    Args:
        events: events with the seq of their input and their place among its events.
        alerts: the alerts they are about, in their latest form, by id.
        vessel: gives a vessel's valid record.
        people: the yard's people who are told of every vessel.
    """
    notices = []
    for seq, place, event in events:
        alert, record = alerts.get(event.alert), vessel(event.vessel)
        if alert is None or not judge(event, alert).told:
            continue
        what = _WHY[event.change]
        for person, address, role in _readers(record, people):
            notices.append(
                Notice(
                    id=notice_id(alert.id, event.change, seq, place, address),
                    channel=EMAIL,
                    address=address,
                    person=person.name,
                    alert=alert.id,
                    vessel=event.vessel,
                    change=event.change.value,
                    at_ms=event.at_ms,
                    reason=f"{what}, and you are {role}",
                )
            )
    return notices


def judge(event: AlertEvent, alert: Alert) -> Verdict:
    """Say whether an event is told by e-mail, and why."""
    if event.change is AlertChange.ACKNOWLEDGED:
        return Verdict(told=False, reason="whoever acknowledged it knows, and the page shows it")
    over = event.change in {AlertChange.RETURNED, AlertChange.ENDED}
    if (alert.highest if over else event.priority) < MAILED_FROM:
        return Verdict(told=False, reason="a caution stands on the page and is not mailed")
    if event.change is AlertChange.PRIORITY and event.was is not None and event.priority < event.was:
        return Verdict(told=False, reason="its priority fell: nobody has to come sooner, and the page shows it")
    return Verdict(told=True, reason=_WHY[event.change])


def _readers(record: Vessel | None, people: Sequence[Person]) -> Iterator[tuple[Person, str, str]]:
    """Give who reads: each address once, whatever the case of its domain; the yard's people first."""
    named = [(person, "the yard's duty") for person in people]
    if record is not None and record.owner is not None:
        named.append((record.owner, "her owner"))
    seen = set()
    for person, role in named:
        if person.email is None:
            continue
        local, _, domain = person.email.rpartition("@")
        address = f"{local}@{domain.lower()}"
        if address.casefold() not in seen:
            seen.add(address.casefold())
            yield person, address, role


_WHY = {
    AlertChange.OPENED: "a new alert opened",
    AlertChange.PRIORITY: "how soon to act has changed",
    AlertChange.ACKNOWLEDGED: "somebody has seen it",
    AlertChange.RETURNED: "an alert cleared",
    AlertChange.REOPENED: "an alert came back",
    AlertChange.ENDED: "an alert ended",
}
