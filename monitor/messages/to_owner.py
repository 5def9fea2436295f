"""What a message says to a vessel's owner: what it is, who has it, and please not to board. No steps and no figures."""

from monitor.messages.blocks import Block
from monitor.messages.cautions import cautions
from monitor.messages.desk import LONGEST_NAME, Desk, Told
from monitor.messages.having import who_has
from monitor.messages.one_vessel import aside_line, page_link, was
from monitor.messages.plain import one_line


def owner_blocks(desk: Desk) -> list[Block]:
    """Give the parts of a message to an owner, in the order they are read."""
    told = desk.worst
    picture = desk.head.picture(told.vessel, told.alert, desk.now_ms) if desk.standing else None
    others = tuple(_other(desk, t) for t in desk.told if t is not told)
    return [
        was(desk, told, *_over(desk, told)) if desk.is_over else _standing(desk, told),
        Block(heading=desk.say("heads", "also"), points=others),
        Block(heading=desk.say("heads", "picture"), picture=picture),
        Block(links=page_link(desk, told)),
        Block(points=cautions("", desk.language), is_small=True),
    ]


def _standing(desk: Desk, told: Told) -> Block:
    next_word = desk.say("who", "owner_next", yard=desk.yard, nobody=not desk.holders()[1])
    lines = (told.words.how_long, who_has(desk), next_word) if desk.standing else (aside_line(desk, told),)
    return Block(title=told.words.title, under=desk.say("heads", "boat", **desk.boat(told.vessel)), lines=lines)


def _over(desk: Desk, told: Told) -> tuple[str, ...]:
    if told.alert.confirmed_ms is not None and told.alert.confirmed_by:
        return (desk.say("over", "confirmed", who=one_line(told.alert.confirmed_by, LONGEST_NAME)),)
    asked = who_has(desk)
    return (desk.say("over", "cleared"), asked) if asked else (desk.say("over", "cleared"),)


def _other(desk: Desk, told: Told) -> str:
    title = told.words.title
    if told.is_aside:
        return f"{desk.say('also', 'aside', title=title)}\n{aside_line(desk, told)}"
    if told.is_over:
        return desk.say("also", "cleared", title=title)
    priority = desk.say("owner_marks", told.alert.priority.word)
    return f"{desk.say('also', 'standing', priority=priority, title=title)}\n{told.words.how_long}"
