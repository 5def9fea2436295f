"""What a message of one vessel says to whoever has the duty: first what cannot wait, last what can be read by day."""

from monitor.messages.blocks import Block, Link
from monitor.messages.card import card
from monitor.messages.cautions import GOING_ABOARD, about, cautions
from monitor.messages.desk import LONGEST_NAME, Desk, Told
from monitor.messages.happened import has_another
from monitor.messages.having import who_has, who_has_one, who_line
from monitor.messages.plain import capital, one_line
from monitor.messages.said_so import say_so
from monitor.messages.words import aside_words


def vessel_subject(desk: Desk, mark: str) -> str:
    """Give the subject: how soon, which boat, where, what."""
    told = desk.worst
    names = desk.boat(told.vessel) | {"mark": mark, "title": told.words.title}
    more = len(desk.standing or desk.told) - 1
    return desk.say("subject", "over" if desk.is_over else "standing", more=more, **names)


def vessel_blocks(desk: Desk) -> list[Block]:
    """Give the parts of a message of one vessel, in the order they are read."""
    told = desk.worst
    if has_another(desk):
        return [*_standing(desk, told)[:2], also(desk), Block(links=page_link(desk, told))]
    acts = bool(desk.standing) or any(t.waits for t in desk.told)
    return [
        *(_over(desk, told) if desk.is_over else _standing(desk, told)),
        also(desk),
        Block(heading=desk.say("heads", "card"), pairs=card(desk, told.vessel) if acts else ()),
        Block(links=page_link(desk, told)),
        *_behind(desk, told),
        _cautions(desk, told, acts=acts),
    ]


def also(desk: Desk) -> Block:
    """Give what else is wrong with her, each in two lines."""
    others = tuple(_other(desk, t) for t in desk.told if t is not desk.worst)
    return Block(heading=desk.say("heads", "also"), points=others)


def page_link(desk: Desk, told: Told) -> tuple[Link, ...]:
    """Give the link to her page, where its reader could open it."""
    page = desk.head.page(told.vessel.id)
    return () if page is None else (Link(desk.say("heads", "page"), page),)


def was(desk: Desk, told: Told, *lines: str) -> Block:
    """Give the part that says what it was that has cleared, on which boat, and lines under it."""
    boat = desk.say("heads", "boat", **desk.boat(told.vessel))
    return Block(title=desk.say("also", "was", title=told.words.title), under=boat, lines=lines)


def harm_line(desk: Desk) -> str:
    """Say how long there is; empty where all of it clears, as the first line says."""
    return "" if desk.is_clearing else desk.worst.words.how_long


def aside_line(desk: Desk, told: Told) -> str:
    """Say who put an alert aside until when; empty where nobody has."""
    aside = aside_words(told.alert, desk.head.zone, desk.now_ms, desk.language)
    return f"{capital(aside)}." if aside else ""


def _standing(desk: Desk, told: Told) -> list[Block]:
    words, boat = told.words, desk.say("heads", "boat", **desk.boat(told.vessel))
    if not desk.standing:
        return [Block(title=words.title, under=boat, lines=(aside_line(desk, told), words.what))]
    return [
        Block(title=words.title, under=boat, lines=(harm_line(desk), who_line(desk))),
        say_so(desk),
        Block(lines=(words.what,)),
        Block(heading=desk.say("heads", "first"), steps=words.first),
        Block(heading=desk.say("heads", "never"), points=words.never),
    ]


def _over(desk: Desk, told: Told) -> list[Block]:
    last = desk.say("over", "latched" if told.waits else "cleared")
    if told.alert.confirmed_ms is not None and told.alert.confirmed_by:
        last = desk.say("over", "confirmed", who=one_line(told.alert.confirmed_by, LONGEST_NAME))
    quoted = Block(lines=(desk.say("heads", "quoted"), desk.say("over", "quote", what=told.words.what)))
    if not told.waits:
        return [was(desk, told, last), say_so(desk), quoted]
    steps = told.words.aboard or (desk.say("over", "aboard"),)
    return [
        was(desk, told, last, desk.say("over", "cleared"), who_has(desk)),
        say_so(desk),
        Block(heading=desk.say("heads", "aboard"), steps=steps),
        Block(heading=desk.say("heads", "never_yet"), points=told.words.never),
        quoted,
    ]


def _behind(desk: Desk, told: Told) -> list[Block]:
    """Give what stands behind it: causes, how sure, the picture, figures and times."""
    figures = desk.say("heads", "last_figures" if desk.is_over else "figures")
    pairs = (*told.words.figures, *_times(desk, told))
    if desk.is_over:
        return [Block(heading=figures, pairs=pairs)]
    picture = desk.head.picture(told.vessel, told.alert, desk.now_ms) if desk.standing else None
    return [
        Block(heading=desk.say("heads", "causes"), points=told.words.causes),
        Block(heading=desk.say("heads", "sure"), lines=(told.words.sure,)),
        Block(heading=desk.say("heads", "picture"), picture=picture),
        Block(heading=figures, pairs=pairs),
    ]


def _cautions(desk: Desk, told: Told, *, acts: bool) -> Block:
    finding, rule = told.alert.finding, told.alert.rule if acts else ""
    so = {*about(told.vessel, finding), *([GOING_ABOARD] if acts else ())}
    said = (*finding.first, *finding.never)
    listed = cautions(rule, desk.language, so=so, said=said)
    return Block(heading=desk.say("heads", "caution"), points=listed, is_small=True)


def _other(desk: Desk, told: Told) -> str:
    """Put an alert beside the one that is told in full into two lines."""
    title = told.words.title
    if told.is_aside:
        return f"{desk.say('also', 'aside', title=title)}\n{aside_line(desk, told)}"
    if told.is_over:
        under = desk.say("over", "latched" if told.waits else "cleared")
        return f"{desk.say('also', 'cleared', title=title)}\n{under}"
    line = desk.say("also", "standing", priority=desk.priority_words(told.alert.priority), title=title)
    under = desk.say("also", "under", how_long=told.words.left, who=who_has_one(desk, told))
    first = f" {desk.say('also', 'first', step=told.words.first[0])}" if told.words.first else ""
    return f"{line}\n{under}{first}"


def _times(desk: Desk, told: Told) -> tuple[tuple[str, str], ...]:
    alert = told.alert
    times = (("opened", alert.opened_ms), ("returned", alert.returned_ms), ("ended", alert.ended_ms))
    lines = [(desk.say("heads", key), desk.at(at)) for key, at in times if at is not None]
    if alert.acknowledged_ms is not None and alert.acknowledged_by:
        seen = f"{one_line(alert.acknowledged_by, LONGEST_NAME)}, {desk.at(alert.acknowledged_ms)}"
        lines.append((desk.say("heads", "seen"), seen))
    elif alert.ended_ms is None:
        lines.append((desk.say("heads", "seen"), desk.say("heads", "nobody_seen")))
    return tuple(lines)
