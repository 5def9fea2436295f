"""A notice in a few lines, for services that show it on a phone's locked screen."""

from monitor.messages.desk import Desk
from monitor.messages.digest import digest_line
from monitor.messages.fleet import boat_lines
from monitor.messages.happened import happened
from monitor.messages.having import who_has
from monitor.messages.letter import is_of_many, page_of, subject_of
from monitor.messages.letterhead import Letterhead
from monitor.messages.one_vessel import acknowledge
from monitor.messages.plain import one_line
from monitor.model.notice import NoticeKind
from monitor.model.outbox import Waiting

LONGEST_TITLE = 100
LONGEST_BODY = 900
FIRST_STEPS = 2


def write_short(waiting: Waiting, head: Letterhead, *, strict: bool = False) -> tuple[str, str]:
    """Write a notice as a title of at most 100 and a body of at most 900 characters, the most important first.

    Whoever has the duty gets the first steps and the link by which to acknowledge; an owner gets neither. Lines that
    have no room are left out whole; links are never cut.

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
    lines, links = _lines(desk), _links(desk)
    room = LONGEST_BODY
    kept_links = []
    for link in links:
        if len(link) + 1 <= room:
            kept_links.append(link)
            room -= len(link) + 1
    kept: list[str] = []
    for line in lines:
        if len(line) + 1 > room:
            if not kept:
                kept.append(one_line(line, max(room - 1, 1)))
            break
        kept.append(line)
        room -= len(line) + 1
    return title, "\n".join([*kept, *kept_links])


def _lines(desk: Desk) -> list[str]:
    if desk.notice.kind is NoticeKind.DIGEST:
        return [line.replace("\n", " ") for line in _digest(desk)] or [desk.say("digest", "nothing")]
    if is_of_many(desk):
        return [line for line in (happened(desk), who_has(desk), *boat_lines(desk)) if line]
    words, owner = desk.worst.words, desk.notice.owner
    if desk.is_over:
        waits = any(t.waits for t in desk.told)
        lines = [happened(desk), desk.say("over", "latched" if waits and not owner else "cleared")]
        return [line for line in (*lines, who_has(desk) if owner or waits else "") if line]
    if not desk.standing:
        return [happened(desk)]
    steps = zip(("first", "then"), words.first[:FIRST_STEPS], strict=False)
    first = () if owner else tuple(desk.say("also", key, step=step) for key, step in steps)
    never = () if owner else words.never[:1]
    told = (happened(desk), words.how_long, who_has(desk), *first, *never, words.what)
    return [line for line in told if line]


def _digest(desk: Desk) -> list[str]:
    return [f"{desk.say('heads', 'boat', **desk.boat(t.vessel))}: {digest_line(desk, t)}" for t in desk.told]


def _links(desk: Desk) -> list[str]:
    links = [f"{link.says}: {link.address}" for link in acknowledge(desk)]
    page = page_of(desk)
    return links if page is None else [*links, page]
