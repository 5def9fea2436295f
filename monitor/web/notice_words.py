"""Messages to people in words: why somebody was told, by what channel, and what has come of it. Never an address."""

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace

from monitor.model.notice import Notice, NoticeKind
from monitor.model.people import ChannelKind
from monitor.model.shown_address import shown_address
from monitor.model.views import NoticeLine
from monitor.web.clock import YardClock
from monitor.web.third_person import of_person

KINDS = {
    NoticeKind.NEW: "Told of it",
    NoticeKind.MORE: "Told that more has joined it",
    NoticeKind.WORSE: "Told that it is worse",
    NoticeKind.BACK: "Told that it is back",
    NoticeKind.AGAIN: "Told again, since nobody had it",
    NoticeKind.ESCALATED: "Told next, since nobody had it",
    NoticeKind.TAKEN: "Told who has it",
    NoticeKind.HANDED: "Asked to take it on",
    NoticeKind.UNACCEPTED: "Told that it has not been taken on",
    NoticeKind.ASIDE: "Told that it is put aside",
    NoticeKind.UNREACHED: "Told that the owner cannot be reached",
    NoticeKind.OVER: "Told that it is over",
    NoticeKind.DIGEST: "Told in the daily summary",
    NoticeKind.TEST: "Tried whether they can be reached",
}
CHANNELS = {
    ChannelKind.EMAIL.value: "e-mail",
    ChannelKind.WEBHOOK.value: "webhook",
    ChannelKind.SERVICE.value: "message service",
}
CLOCKS_APART_MS = 3_600_000
_URL = re.compile(r"\b[a-z][a-z0-9+.-]*://\S+", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class NoticeShown:
    """A message to somebody, in words."""

    at_ms: int
    person: str
    kind: str
    channel: str
    reason: str
    outcome: str
    arrived: bool


def shown_notice(line: NoticeLine, clock: YardClock, wall_ms: int) -> NoticeShown:
    """Put a notice and what has come of it into words.

    Args:
        line: the notice.
        clock: the yard's clock, in event time.
        wall_ms: wall time now, in which attempts are counted.
    """
    notice = line.notice
    return NoticeShown(
        at_ms=notice.at_ms,
        person=notice.person,
        kind=KINDS[notice.kind],
        channel=channel_word(notice),
        reason=of_person(notice.reason, notice.person),
        outcome=outcome(line, clock, wall_ms),
        arrived=line.sent_ms is not None,
    )


def gathered(notices: Iterable[NoticeShown]) -> list[NoticeShown]:
    """Give messages that differ only in whom they went to as one: a ladder that repeats itself is read in a third."""
    found: list[NoticeShown] = []
    for one in notices:
        last = found[-1] if found else None
        if last is not None and replace(last, person=one.person) == one:
            found[-1] = replace(last, person=f"{last.person}, {one.person}")
        else:
            found.append(one)
    return found


def channel_word(notice: Notice) -> str:
    """Give the kind of a notice's channel."""
    return CHANNELS.get(notice.channel, notice.channel)


def outcome(line: NoticeLine, clock: YardClock, wall_ms: int) -> str:
    """Say what has come of a notice."""
    if line.sent_ms is not None:
        return f"sent{_at(line.sent_ms, clock, wall_ms)}"
    why = f": {error_shown(line)}" if line.error else ""
    tries = f"{line.tries} {'try' if line.tries == 1 else 'tries'}"
    if line.given_up_ms is not None:
        return f"given up{_at(line.given_up_ms, clock, wall_ms)} after {tries}{why}"
    if line.tries:
        return f"not sent yet after {tries}{why}"
    return "waits to be sent"


def error_shown(line: NoticeLine) -> str:
    """Give what went wrong without what an address keeps secret, should an error have repeated it."""
    notice = line.notice
    shown = line.error.replace(notice.address, shown_address(notice.channel, notice.address))
    if notice.channel != ChannelKind.EMAIL:
        shown = _URL.sub("(address left out)", shown)
    return shown.rstrip(".")


def _at(wall_then_ms: int, clock: YardClock, wall_ms: int) -> str:
    # In demo and replay the yard's time is not the wall's: a wall time among yard times would only confuse.
    return f" {clock.at(wall_then_ms)}" if abs(clock.now_ms - wall_ms) < CLOCKS_APART_MS else ""
