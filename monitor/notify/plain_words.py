"""A notice in plain words: what is known of its alerts, without templates, pictures and links.

It goes out where a message cannot be written as usual. A plain one is better than none: whoever reads it knows which
boat it is, what is wrong with her and how soon to act, and asks for the rest.
"""

from dataclasses import dataclass
from datetime import UTC, datetime

from monitor.messages.plain import capital, one_line
from monitor.model.alert import Alert
from monitor.model.finding import Figure
from monitor.model.notice import NoticeKind
from monitor.model.outbox import Waiting
from monitor.model.scale import Priority
from monitor.model.vessel import Vessel

MOST_LINES = 20
"""So many alerts are named: more fill a phone's screen for whoever has to act on the first."""
WHY = "This message could not be written as usual, by an error of ours. It says what is known, in few words."
_HOW_SOON = {Priority.ALARM: "Act now", Priority.WARNING: "Soon", Priority.CAUTION: "This week"}


@dataclass(frozen=True, slots=True)
class PlainWords:
    """A message in plain words.

    Attributes:
        title: the boat, what is wrong with her, and how soon to act; one line.
        lines: what is known of each alert, a line each.
        ask: whom to ask for the rest.
        priority: the highest that stands, None where nothing does.
    """

    title: str
    lines: tuple[str, ...]
    ask: str
    priority: Priority | None

    @property
    def body(self) -> str:
        """All of it, line by line."""
        return "\n".join((WHY, *self.lines, self.ask))


def plain_words(waiting: Waiting) -> PlainWords:
    """Put a notice into plain words.

    Raises:
        ValueError: where it tells of no alert that is known, and is no digest and no test.
    """
    notice = waiting.notice
    # What is another's is not an owner's to read, whatever the notice names.
    told = [(a, v) for a, v in waiting.alerts if not notice.owner or notice.vessel in {None, v.id}]
    digest = notice.kind is NoticeKind.DIGEST
    if notice.kind is NoticeKind.TEST:
        ask = "Say to whoever rang you that it came."
        return PlainWords("This is a test: nothing is wrong", (one_line(f"{capital(notice.reason)}."),), ask, None)
    if not told and not digest:
        raise ValueError(f"notice {notice.id} names no alert that is still known: there is nothing to tell")
    told.sort(key=lambda pair: (not _stands(pair[0]), -pair[0].priority))
    more = len(told) - MOST_LINES
    lines = [_line(alert, vessel) for alert, vessel in told[:MOST_LINES]]
    return PlainWords(
        title=one_line("Once a day: what stands and can wait" if digest else _title(told), 160),
        lines=(*lines, *([f"And {more} more."] if more > 0 else [])),
        ask="Please do not board. Ask the yard." if notice.owner else "Look at the pages for what to do first.",
        priority=max((alert.priority for alert, _ in told if _stands(alert)), default=None),
    )


def _title(told: list[tuple[Alert, Vessel]]) -> str:
    alert, vessel = told[0]
    boats = len({v.id for _, v in told})
    others = f", and {boats - 1} more" if boats > 1 else ""
    return f"{_how(alert)}: {vessel.name}, {vessel.place}{others}: {_what(alert)}"


def _line(alert: Alert, vessel: Vessel) -> str:
    since = datetime.fromtimestamp(alert.opened_ms / 1000, UTC).strftime("%Y-%m-%d %H:%M UTC")
    has_it = f" {alert.has_it} has it." if alert.has_it is not None else ""
    figures = _figures(alert.finding.figure)
    return one_line(f"{_how(alert)}: {vessel.name}, {vessel.place}: {_what(alert)}{figures}, since {since}.{has_it}")


def _how(alert: Alert) -> str:
    if alert.ended_ms is not None:
        return "Over"
    if alert.state.is_aside:
        return "Put aside"
    return _HOW_SOON[alert.priority] if alert.returned_ms is None else "Cleared"


def _what(alert: Alert) -> str:
    return capital(f"{alert.rule} ({alert.subject}: {alert.finding.kind})")


def _figures(figure: Figure) -> str:
    if figure.value is None:
        return ""
    limit = "" if figure.limit is None else f", limit {figure.limit:.4g} {figure.unit}"
    return f", {figure.value:.4g} {figure.unit}{limit}"


def _stands(alert: Alert) -> bool:
    return alert.ended_ms is None and alert.returned_ms is None and not alert.state.is_aside
