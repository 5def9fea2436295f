"""What a message of one vessel says: to whoever has the duty, and to her owner."""

from monitor.messages.blocks import Block, Link
from monitor.messages.cautions import cautions
from monitor.messages.desk import LONGEST_NAME, Desk, Told
from monitor.messages.having import who_has, who_has_one
from monitor.messages.plain import capital, one_line
from monitor.messages.words import aside_words
from monitor.model.notice import NoticeKind
from monitor.model.vessel import Vessel

CARD = ("keys", "ladder", "isolator", "pump_switch", "gas", "shore_post", "contacts", "instructions")


def vessel_subject(desk: Desk, mark: str) -> str:
    """Give the subject: how soon, which boat, where, what."""
    told = desk.worst
    names = desk.boat(told.vessel) | {"mark": mark, "title": told.words.title}
    more = len(desk.standing or desk.told) - 1
    return desk.say("subject", "over" if desk.is_over else "standing", more=more, **names)


def vessel_blocks(desk: Desk) -> list[Block]:
    """Give the parts of a message of one vessel, in the order they are read."""
    told, duty = desk.worst, not desk.notice.owner
    blocks = _over(desk, told) if desk.is_over else _standing(desk, told)
    blocks.append(
        Block(heading=desk.say("heads", "also"), points=tuple(_other(desk, t) for t in desk.told if t is not told))
    )
    acts = duty and (desk.standing or any(t.waits for t in desk.told))
    cautious = cautions(told.alert.rule if acts else "", desk.language)
    blocks.append(Block(heading=desk.say("heads", "caution"), points=cautious, is_small=True))
    if acts:
        blocks.append(Block(heading=desk.say("heads", "card"), pairs=card(desk, told.vessel)))
    blocks.append(Block(links=(*acknowledge(desk), Link(desk.say("heads", "page"), desk.head.page(told.vessel.id)))))
    if desk.standing:
        picture = desk.head.picture(told.vessel, told.alert, desk.now_ms)
        blocks.append(Block(heading=desk.say("heads", "picture"), picture=picture))
    if not desk.is_over:
        blocks.append(Block(heading=desk.say("heads", "causes"), points=told.words.causes))
    figures = desk.say("heads", "last_figures" if desk.is_over else "figures")
    blocks.append(Block(heading=figures, pairs=(*told.words.figures, *_times(desk, told))))
    return blocks


def card(desk: Desk, vessel: Vessel) -> tuple[tuple[str, str], ...]:
    """Give what is written on a vessel's card, as (label, value)."""
    written = ((name, one_line(getattr(vessel.card, name), 500)) for name in CARD)
    return tuple((desk.say("card", name), value) for name, value in written if value)


def acknowledge(desk: Desk) -> tuple[Link, ...]:
    """Give the link by which the reader says that they have seen it, where that is still wanted of them."""
    asked = any(t.alert.acknowledged_ms is None and t.alert.ended_ms is None and not t.is_aside for t in desk.told)
    if not asked or desk.notice.owner or desk.notice.kind is NoticeKind.DIGEST:
        return ()
    address = desk.head.acknowledge(desk.notice.id)
    if address is None:
        return ()
    return (Link(desk.say("heads", "acknowledge"), address),)


def _standing(desk: Desk, told: Told) -> list[Block]:
    words, duty = told.words, not desk.notice.owner
    facts = [(desk.say("heads", "sure"), words.sure), (desk.say("heads", "how_long"), words.how_long)]
    aside = aside_words(told.alert, desk.head.zone, desk.now_ms, desk.language)
    lines = (words.what, f"{capital(aside)}.") if aside else (words.what,)
    if desk.standing:
        facts.append((desk.say("heads", "who"), who_has(desk)))
    boat = desk.say("heads", "boat", **desk.boat(told.vessel))
    blocks = [Block(heading=boat, title=words.title, lines=lines), Block(pairs=tuple(facts))]
    if duty and told.stands:
        blocks.append(Block(heading=desk.say("heads", "first"), steps=words.first))
        blocks.append(Block(heading=desk.say("heads", "never"), points=words.never))
    return blocks


def _over(desk: Desk, told: Told) -> list[Block]:
    quote = desk.say("over", "quote", title=told.words.title, what=told.words.what)
    lines = [desk.say("heads", "quoted"), quote, desk.say("over", "cleared")]
    if told.alert.confirmed_ms is not None and told.alert.confirmed_by:
        lines[2] = desk.say("over", "confirmed", who=one_line(told.alert.confirmed_by, LONGEST_NAME))
    if told.waits:
        lines.append(who_has(desk) if desk.notice.owner else desk.say("over", "latched"))
    blocks = [Block(heading=desk.say("heads", "boat", **desk.boat(told.vessel)), lines=tuple(lines))]
    if told.waits and not desk.notice.owner:
        steps = told.words.aboard or (desk.say("over", "aboard"),)
        blocks.append(Block(pairs=((desk.say("heads", "who"), who_has(desk)),)))
        blocks.append(Block(heading=desk.say("heads", "aboard"), steps=steps))
        blocks.append(Block(heading=desk.say("heads", "never_yet"), points=told.words.never))
    return blocks


def _other(desk: Desk, told: Told) -> str:
    """Put an alert beside the one that is told in full into two lines."""
    title = told.words.title
    if told.is_aside:
        aside = aside_words(told.alert, desk.head.zone, desk.now_ms, desk.language)
        return f"{desk.say('also', 'aside', title=title)}\n{capital(aside)}."
    if told.is_over:
        under = desk.say("over", "latched" if told.waits and not desk.notice.owner else "cleared")
        return f"{desk.say('also', 'cleared', title=title)}\n{under}"
    line = desk.say("also", "standing", priority=desk.priority_words(told.alert.priority), title=title)
    if desk.notice.owner:
        return f"{line}\n{told.words.how_long}"
    under = desk.say("also", "under", how_long=told.words.left, who=who_has_one(desk, told))
    return (
        f"{line}\n{under} {desk.say('also', 'first', step=told.words.first[0])}"
        if told.words.first
        else f"{line}\n{under}"
    )


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
