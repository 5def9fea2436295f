"""What became of one alert in a span, as a few words: its events, however many, are told as one."""

from collections.abc import Sequence
from dataclasses import dataclass

from monitor.model.alert import AlertChange, AlertEvent

_OVER = frozenset({AlertChange.RETURNED, AlertChange.LATCHED, AlertChange.ENDED})
_STANDS = frozenset({AlertChange.OPENED, AlertChange.REOPENED})
_TAKES = frozenset({AlertChange.ACKNOWLEDGED, AlertChange.ACCEPTED})
_ASIDE = frozenset({AlertChange.SHELVED, AlertChange.SUPPRESSED, AlertChange.OUT_OF_SERVICE})


@dataclass(frozen=True, slots=True)
class Story:
    """What became of an alert.

    Attributes:
        alert: its id.
        vessel: whose it is.
        seq: of the last that happened.
        at_ms: when that was.
        lead: what became of the condition, such as *New* or *Over*; empty where nothing did.
        people: what people did, one sentence each without its stop.
    """

    alert: str
    vessel: str
    seq: int
    at_ms: int
    lead: str
    people: tuple[str, ...]


def stories(events: Sequence[tuple[int, AlertEvent]]) -> list[Story]:
    """Tell each alert's events as one, the newest alert first; an alert of which nothing is worth telling is left out.

    Args:
        events: newest first, each with its seq.
    """
    by_alert: dict[str, list[tuple[int, AlertEvent]]] = {}
    for seq, event in events:
        by_alert.setdefault(event.alert, []).append((seq, event))
    told = [_story(found) for found in by_alert.values()]
    return [story for story in told if story.lead or story.people]


def _story(newest_first: Sequence[tuple[int, AlertEvent]]) -> Story:
    seq, last = newest_first[0]
    events = [event for _, event in reversed(newest_first)]
    return Story(last.alert, last.vessel, seq, last.at_ms, _lead(events), _people(events))


def _lead(events: Sequence[AlertEvent]) -> str:
    changes = [event.change for event in events]
    is_new, is_worse = AlertChange.OPENED in changes, any(_rose(event) for event in events)
    turns = [change for change in changes if change in _OVER | _STANDS]
    if turns and turns[-1] in _OVER:
        if turns[-1] is AlertChange.ENDED:
            return "Came and went" if is_new else "Over"
        return "New, and cleared" if is_new else "Cleared"
    if is_new:
        return "New, and got worse" if is_worse else "New"
    if turns:
        return "Came back"
    return "Got worse" if is_worse else ""


def _rose(event: AlertEvent) -> bool:
    return event.change is AlertChange.PRIORITY and event.was is not None and event.priority > event.was


def _people(events: Sequence[AlertEvent]) -> tuple[str, ...]:
    """Say what people did with it last: who has it, who put it aside, who has been aboard."""
    said: dict[str, str] = {}
    for event in events:
        who = event.actor
        if event.change in _TAKES:
            said["has"] = f"{who} has it" if event.change is AlertChange.ACCEPTED else f"seen by {who}"
        elif event.change is AlertChange.HANDED_OVER:
            said["has"] = f"handed over by {who}"
        elif event.change is AlertChange.CONFIRMED:
            said["aboard"] = f"{who} was aboard"
        elif event.change in _ASIDE:
            said["aside"] = f"put aside by {who}" if who != "watch" else "put aside"
        elif event.change is AlertChange.BACK:
            said["aside"] = "no longer put aside"
        elif event.change is AlertChange.REOPENED:
            said.pop("has", None)
    return tuple(said.values())
