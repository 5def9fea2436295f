"""Who has what is wrong with a boat, since when, and what comes next: for her owner, who is asked not to board."""

from collections.abc import Iterator, Sequence

from monitor.model.alert import Alert, AlertChange, AlertEvent
from monitor.model.call import Call, CallKind
from monitor.model.notice import NoticeKind
from monitor.model.scale import Priority
from monitor.model.vessel import Vessel
from monitor.model.views import NoticeLine
from monitor.web.call_having import holder
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.owner_words import letter, say
from monitor.web.ranks import waits_for_visit

_TAKES = frozenset({AlertChange.ACKNOWLEDGED, AlertChange.ACCEPTED, AlertChange.CONFIRMED})
_OF_SOMETHING_ELSE = frozenset({NoticeKind.UNREACHED, NoticeKind.OVER, NoticeKind.ASIDE})


def in_hand(
    deps: Deps, worst: Alert, alerts: Sequence[Alert], record: Vessel, clock: YardClock, reader: str
) -> Iterator[str]:
    """Say who has what is worst, and what comes next, a sentence each.

    Args:
        deps: where it is read.
        worst: what is worst.
        alerts: all that is wrong with her and not put aside.
        record: her record.
        clock: the yard's clock.
        reader: the name of the owner who looks, empty where it is not known.
    """
    if worst.returned_ms is not None:
        if waits_for_visit(worst):
            yield letter("who", "owner_look", yard=deps.yard_name)
            yield letter("over", "cleared")
        else:
            yield say("then", "cleared_unseen")
        return
    call = _call_of(deps, worst)
    if call is not None and call.kind is CallKind.FLEET:
        yield say("then", "many_boats")
    who, small = holder(worst), worst.priority is Priority.CAUTION
    offered = worst.offered_to if worst.offered_to != worst.has_it else None
    if offered is not None:
        yield _handing(who, offered, reader)
        if not small and offered.casefold() != reader.casefold():
            yield say("then", "no_board")
    elif who is None:
        yield from _nobody(deps, worst, call, clock, small=small)
    elif who.casefold() == reader.casefold():
        yield say("then", "you", since=clock.at(_since_ms(deps, worst, who)), yard=deps.yard_name)
    else:
        since = clock.at(_since_ms(deps, worst, who))
        yield say("then", "has_small" if small else "has", who=who, many=False, since=since)
    if worst.finding.over:
        yield say("then", "clearing")
    if not small and record.owner is not None and _is_reached(deps, record):
        told = [a for a in alerts if a.returned_ms is None and a.priority >= Priority.WARNING]
        free = any(holder(a) is None for a in told)
        yield say("then", "writes", yard=deps.yard_name, nobody=free)


def _handing(who: str | None, offered: str, reader: str) -> str:
    if offered.casefold() == reader.casefold():
        return letter("who", "offered_to_you_by_nobody") if who is None else letter("who", "offered_to_you", who=who)
    if who is None:
        return letter("who", "offered_by_nobody", to=offered)
    return letter("who", "offered", who=who, to=offered)


def _nobody(deps: Deps, alert: Alert, call: Call | None, clock: YardClock, *, small: bool) -> Iterator[str]:
    told = [] if call is None else _told(deps.calls.notices(call.id), alert)
    if not told:
        yield say("then", "not_told_small" if small else "not_told_yet")
    elif all(line.sent_ms is None and (line.given_up_ms is not None or line.tries) for line in told):
        yield say("then", "not_through")
    else:
        at = clock.at(min(line.notice.at_ms for line in told))
        next_ms = None if call is None else deps.next_told(call.id)
        if next_ms is None or next_ms <= clock.now_ms:
            yield say("then", "told_nobody", told=at)
        else:
            yield say("then", "told_next", told=at, next=clock.at(next_ms))
    if not small:
        yield say("then", "no_board")


def _told(lines: Sequence[NoticeLine], alert: Alert) -> list[NoticeLine]:
    """Give the messages in which the yard was told of an alert since it last opened or came back."""
    return [
        line
        for line in lines
        if not line.notice.owner
        and line.notice.kind not in _OF_SOMETHING_ELSE
        and alert.id in line.notice.alerts
        and line.notice.at_ms >= alert.opened_ms
    ]


def _call_of(deps: Deps, alert: Alert) -> Call | None:
    return next((c for c in deps.calls.calls(open_only=True) if alert.id in c.alerts), None)


def _since_ms(deps: Deps, alert: Alert, who: str) -> int:
    """Give since when somebody has an alert: when they took it last."""
    took = [e.at_ms for e in deps.alerts.events(alert.id) if _took(e, who)]
    return took[-1] if took else (alert.acknowledged_ms or alert.opened_ms)


def _took(event: AlertEvent, who: str) -> bool:
    return event.change in _TAKES and event.actor == who


def _is_reached(deps: Deps, record: Vessel) -> bool:
    if record.owner is None:
        return False
    person = deps.roster.owner(record.owner)
    return person.email is not None or bool(person.channels)
