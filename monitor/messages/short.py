"""A notice in a few lines, for services that show it on a phone's locked screen."""

from monitor.messages.desk import Desk
from monitor.messages.digest import digest_line
from monitor.messages.fleet import boat_lines
from monitor.messages.happened import happened
from monitor.messages.having import who_has, who_line
from monitor.messages.letter import is_of_many, page_of, subject_of
from monitor.messages.letterhead import Letterhead
from monitor.messages.one_vessel import aside_line, harm_line
from monitor.messages.plain import one_line
from monitor.messages.said_so import say_so
from monitor.messages.trial import trial_lines
from monitor.model.notice import NoticeKind
from monitor.model.outbox import Waiting

LONGEST_TITLE = 100
LONGEST_BODY = 900
FIRST_STEPS = 2
SHORTEST_LINE = 20


def write_short(waiting: Waiting, head: Letterhead, *, strict: bool = False) -> tuple[str, str]:
    """Write a notice as a title of at most 100 and a body of at most 900 characters, the most important first.

    Whoever has the duty gets the first steps and the link by which they say that they have it; an owner gets neither.
    Lines that have no room are left out whole; links are never cut.

    Args:
        waiting: what is to be told to whom, as it stands now.
        head: what all messages of the yard share.
        strict: raise where words are missing, instead of falling back.

    Raises:
        ValueError: where it tells of no alert, and is no digest.
        MissingWordsError: only when strict.
    """
    desk = Desk(waiting, head, strict=strict)
    title = one_line(subject_of(desk), LONGEST_TITLE)
    opening, rest, page = _opening(desk), _rest(desk), page_of(desk)
    asked = _asked(desk)
    room = LONGEST_BODY - sum(len(link) + 1 for link in (*asked, page or ""))
    first = _kept(opening, room)
    more = _kept(rest, room - sum(len(line) + 1 for line in first))
    return title, "\n".join([*first, *asked, *more, *([page] if page is not None else [])])


def _kept(lines: list[str], room: int) -> list[str]:
    """Give the lines that have room; the first is shortened where it alone is too long."""
    kept: list[str] = []
    for line in lines:
        if len(line) + 1 > room:
            return kept or ([one_line(line, room - 1)] if room > SHORTEST_LINE else [])
        kept.append(line)
        room -= len(line) + 1
    return kept


def _asked(desk: Desk) -> list[str]:
    """Give the link by which the reader says that they have it, or where else to say it."""
    block = say_so(desk)
    return [*block.lines, *(f"{link.says}: {link.address}" for link in block.links)]


def _opening(desk: Desk) -> list[str]:
    """Give the lines that stand before the link: what has happened, how long there is, who has it."""
    if desk.notice.kind is NoticeKind.DIGEST:
        return []
    if desk.notice.kind is NoticeKind.TEST:
        return [desk.say("told", "test")]
    if not desk.standing or is_of_many(desk):
        return [line for line in (happened(desk), who_line(desk) if desk.standing else "") if line]
    return [line for line in (happened(desk), harm_line(desk), who_line(desk)) if line]


def _rest(desk: Desk) -> list[str]:
    if desk.notice.kind is NoticeKind.DIGEST:
        return [line.replace("\n", " ") for line in _digest(desk)] or [desk.say("digest", "nothing")]
    if desk.notice.kind is NoticeKind.TEST:
        return list(trial_lines(desk))
    if is_of_many(desk):
        return list(boat_lines(desk))
    words, owner = desk.worst.words, desk.notice.owner
    if desk.is_over:
        waits = any(t.waits for t in desk.told)
        cleared = desk.say("over", "latched" if waits and not owner else "cleared")
        return [line for line in (cleared, who_has(desk) if owner or waits else "") if line]
    if not desk.standing:
        return [aside_line(desk, desk.worst)]
    steps = zip(("first", "then"), words.first[:FIRST_STEPS], strict=False)
    first = tuple(desk.say("also", key, step=step) for key, step in steps)
    never = words.never[:1]
    return [] if owner else [*first, *never, words.what]


def _digest(desk: Desk) -> list[str]:
    return [f"{desk.say('heads', 'boat', **desk.boat(t.vessel))}: {digest_line(desk, t)}" for t in desk.told]
