"""What a message of one trouble of many boats says: how many, and in which order they are walked to."""

from itertools import chain

from monitor.messages.blocks import Block, Link
from monitor.messages.cautions import cautions
from monitor.messages.desk import Desk, Told
from monitor.messages.having import who_has
from monitor.messages.one_vessel import acknowledge
from monitor.messages.plain import capital

MOST_LINES = 40
RULE_OF = {"frost": "frost", "power": "power", "water": "bilge", "silence": "silence"}


def fleet_title(desk: Desk) -> str:
    """Say what befell how many boats."""
    return desk.say("fleet", _cause(desk), boats=desk.counted("boats", len(boats_of(desk))))


def fleet_subject(desk: Desk, mark: str) -> str:
    """Give the subject: how soon, what, on how many boats."""
    return desk.say("subject", "fleet_over" if desk.is_over else "fleet", mark=mark, title=fleet_title(desk))


def fleet_blocks(desk: Desk) -> list[Block]:
    """Give the parts of a message of many boats, in the order they are read."""
    cause = _cause(desk)
    lines = boat_lines(desk)
    blocks = []
    if desk.is_over:
        waits = (desk.say("over", "latched"),) if any(t.waits for t in desk.told) else ()
        blocks.append(Block(title=fleet_title(desk), lines=(desk.say("over", "cleared"), *waits)))
    else:
        facts = ((desk.say("heads", "soonest"), _soonest(desk).words.how_long),) if desk.standing else ()
        who = ((desk.say("heads", "who"), who_has(desk)),)
        blocks.append(Block(title=fleet_title(desk), pairs=(*facts, *who)))
    if desk.standing:
        blocks.append(Block(heading=desk.say("heads", "first"), steps=desk.words.sentences("fleet_first", cause)))
        blocks.append(Block(heading=desk.say("heads", "never"), points=desk.words.sentences("fleet_never", cause)))
    page = desk.head.call_page(desk.call.id) if desk.call is not None else None
    heading = desk.say("heads", "walk" if desk.standing else "boats")
    blocks.append(Block(heading=heading, steps=lines[:MOST_LINES], lines=_rest(desk, len(lines), page)))
    there = (Link(desk.say("heads", "call_page"), page),) if page is not None else ()
    blocks.append(Block(links=(*acknowledge(desk), *there)))
    cautious = cautions(RULE_OF[cause], desk.language)
    blocks.append(Block(heading=desk.say("heads", "caution"), points=cautious, is_small=True))
    return blocks


def boats_of(desk: Desk) -> list[list[Told]]:
    """Give the alerts of each boat, in the order in which the boats are to be walked to."""
    boats: dict[str, list[Told]] = {}
    for told in desk.told if desk.is_over or not desk.standing else desk.standing:
        boats.setdefault(told.vessel.id, []).append(told)
    return list(boats.values())


def boat_lines(desk: Desk) -> tuple[str, ...]:
    """Give one line a boat: place, boat, what, how long, and who has her where somebody has."""
    return tuple(_line(desk, alerts) for alerts in boats_of(desk))


def _line(desk: Desk, alerts: list[Told]) -> str:
    told = alerts[0]
    names = desk.boat(told.vessel) | {"title": told.words.title, "more": len(alerts) - 1, "harm": told.words.left}
    if told.is_aside:
        return capital(desk.say("fleet", "line_aside", **names))
    if told.is_over:
        return capital(desk.say("fleet", "line_cleared", **names))
    line = capital(desk.say("fleet", "line", **names))
    who = told.alert.has_it
    return line if who is None else f"{line} {desk.say('fleet', 'has', who=desk.holder(told))}"


def _rest(desk: Desk, lines: int, page: str | None) -> tuple[str, ...]:
    left = lines - MOST_LINES
    if left <= 0:
        return ()
    return (desk.say("fleet", "more_no_page" if page is None else "more", count=left, page=page),)


def _soonest(desk: Desk) -> Told:
    """Give the alert of the least low time to harm; one that says none comes last."""
    shown = list(chain.from_iterable(boats_of(desk)))
    harms = [(t.alert.finding.harm.low_s if t.alert.finding.harm else float("inf")) for t in shown]
    return shown[harms.index(min(harms))]


def _cause(desk: Desk) -> str:
    return desk.call.about if desk.call is not None else ""
