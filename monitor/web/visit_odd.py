"""What speaks against what a visit says it found, as mistakes beside their fields, and what to choose instead."""

from collections.abc import Iterator

from monitor.messages.words import put_into_words
from monitor.model.alert import Alert
from monitor.model.visit import Found
from monitor.record.contradict import Contradiction, Odd, Said, contradictions
from monitor.record.round import Stop
from monitor.web.clock import YardClock
from monitor.web.problems import Mistake
from monitor.web.round_words import reading, said, say, taking_name

_FIELD = {Odd.UNSAID: "note", Odd.UNTOLD: "note", Odd.NOTHING: "found"}


def odd_mistakes(what: Said, stop: Stop, clock: YardClock) -> Iterator[Mistake]:
    """Give a mistake beside each thing that speaks against what was found; and beside the choice, what to choose."""
    found = contradictions(what, stop.vessel, stop.alerts)
    for one in found:
        key = _FIELD.get(one.odd) or _key(one)
        yield Mistake(key=key, reason=say("odd", one.odd.value, **_names(one, what, stop, clock)))
    against = [one for one in found if one.instead is not None and one.odd not in _FIELD]
    if against:
        # What nobody told of goes before what alerts told of: those can be marked as told each by itself.
        instead = Found.NOT_TOLD if any(o.instead is Found.NOT_TOLD for o in against) else Found.AS_TOLD
        names = {"chosen": said("found", what.found.value), "instead": said("found", instead.value)}
        by = {"readings": any(o.at is not None for o in against), "alerts": any(o.at is None for o in against)}
        yield Mistake(key="found", reason=say("odd", "found", **names, **by))


def title_of(alert: Alert, stop: Stop, clock: YardClock) -> str:
    """Give what an alert of hers says, in a few words."""
    return put_into_words(alert.finding, stop.vessel, clock.zone, clock.now_ms).title


def _key(one: Contradiction) -> str:
    if one.at is not None:
        return f"readings.{one.at[0]}.{one.at[1]}"
    return "found" if one.alert is None else f"alerts.{one.alert.id}"


def _names(one: Contradiction, what: Said, stop: Stop, clock: YardClock) -> dict[str, str]:
    names = {} if one.instead is None else {"instead": said("found", one.instead.value)}
    if one.alert is not None:
        names["title"] = title_of(one.alert, stop, clock)
    if one.at is not None:
        names |= {"name": _name(one, stop), "read": reading(one.at[0], what.read[one.at])}
        names["limit"] = reading(one.at[0], one.limit)
    return names


def _name(one: Contradiction, stop: Stop) -> str:
    taking = next(t for t in stop.all_takings if (t.what, t.subject) == one.at)
    return taking_name(taking)
