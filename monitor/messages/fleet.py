"""What a message of one trouble of many boats says: how many, and in which order they are walked to."""

from itertools import chain

from monitor.messages.blocks import Block, Link
from monitor.messages.cautions import GOING_ABOARD, about, cautions
from monitor.messages.desk import Desk, Told
from monitor.messages.having import who_line
from monitor.messages.plain import capital
from monitor.messages.said_so import say_so

MOST_LINES = 40
RULE_OF = {"frost": "frost", "power": "power", "water": "bilge", "silence": "silence"}
# What the words of `fleet_first` and `fleet_never` say, by the codes of the rules' own steps.
SAID_OF = {
    "frost": ("no_portable_heater",),
    "power": ("no_second_reset", "no_wet_lead"),
    "water": ("power_off_first", "no_stepping_in_live", "take_somebody"),
    "silence": ("go_and_see_her",),
}


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
        harm = _soonest(desk).words.how_long
        soonest = (desk.say("heads", "soonest", how_long=harm[:1].lower() + harm[1:]),) if desk.standing else ()
        blocks.append(Block(title=fleet_title(desk), lines=(*soonest, who_line(desk))))
    blocks.append(say_so(desk))
    if desk.standing:
        blocks.append(Block(heading=desk.say("heads", "first"), steps=desk.words.sentences("fleet_first", cause)))
        blocks.append(Block(heading=desk.say("heads", "never"), points=desk.words.sentences("fleet_never", cause)))
    page = desk.head.call_page(desk.call.id) if desk.call is not None else None
    heading = desk.say("heads", "walk" if desk.standing else "boats")
    blocks.append(Block(heading=heading, steps=lines[:MOST_LINES], lines=_rest(desk, len(lines), page)))
    there = (Link(desk.say("heads", "call_page"), page),) if page is not None else ()
    blocks.append(Block(links=there))
    blocks.append(_cautions(desk, cause))
    return blocks


def _cautions(desk: Desk, cause: str) -> Block:
    so = {GOING_ABOARD}.union(*(about(t.vessel, t.alert.finding) for t in desk.told))
    listed = cautions(RULE_OF[cause], desk.language, so=so, said=SAID_OF[cause])
    return Block(heading=desk.say("heads", "caution"), points=listed, is_small=True)


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
    who = desk.holder(told)
    return line if who is None else f"{line} {desk.say_who('who', 'has', names=[who])}"


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
