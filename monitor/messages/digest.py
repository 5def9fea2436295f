"""The daily list: what stands and can wait, a line each, boat by boat."""

from monitor.messages.blocks import Block, Link
from monitor.messages.cautions import cautions
from monitor.messages.desk import Desk, Told
from monitor.messages.having import who_has_one
from monitor.messages.one_vessel import page_link
from monitor.messages.plain import capital
from monitor.messages.words import aside_words
from monitor.model.vessel import Vessel

MOST_LINES = 60


def digest_subject(desk: Desk) -> str:
    """Give the subject: how many things on how many boats."""
    boats = desk.counted("boats", len({t.vessel.id for t in desk.told})) if desk.told else ""
    return desk.say("subject", "digest", things=desk.counted("things", len(desk.told)), boats=boats)


def digest_blocks(desk: Desk) -> list[Block]:
    """Give the parts of the daily list."""
    boats: dict[str, list[Told]] = {}
    for told in desk.told[:MOST_LINES]:
        boats.setdefault(told.vessel.id, []).append(told)
    blocks = [] if desk.told else [Block(lines=(desk.say("digest", "nothing"),))]
    if desk.notice.owner and desk.told:
        blocks.append(Block(lines=(desk.say("who", "owner_digest", yard=desk.yard),)))
    for alerts in boats.values():
        vessel = alerts[0].vessel
        heading = desk.say("heads", "boat", **desk.boat(vessel))
        points = tuple(digest_line(desk, t) for t in alerts)
        lines = (desk.say("digest", "not_watched"),) if _is_unwatched(vessel) else ()
        blocks.append(Block(heading=heading, lines=lines, points=points, links=page_link(desk, alerts[0])))
    blocks.append(_rest(desk))
    blocks.append(Block(heading=desk.say("heads", "caution"), points=cautions("", desk.language), is_small=True))
    return blocks


def digest_line(desk: Desk, told: Told) -> str:
    """Put an alert into a line of the daily list, and who has it beneath where somebody has."""
    alert, title = told.alert, told.words.title
    if alert.ended_ms is not None:
        return desk.say("digest", "ended", title=title, at=desk.clock(alert.ended_ms))
    if told.is_aside:
        return f"{title}: {aside_words(alert, desk.head.zone, desk.now_ms, desk.language)}."
    if alert.returned_ms is not None:
        return desk.say("digest", "look" if told.waits else "cleared", title=title, at=desk.clock(alert.returned_ms))
    names = {"title": title, "since": desk.clock(alert.opened_ms), "harm": told.words.left}
    line = capital(desk.say("digest", "line", priority=desk.priority_words(alert.priority), **names))
    return line if desk.holder(told) is None else f"{line}\n{who_has_one(desk, told)}"


def _is_unwatched(vessel: Vessel) -> bool:
    return vessel.mode.is_laid_up and bool(vessel.sensors) and vessel.watch_taken_on is None


def _rest(desk: Desk) -> Block:
    page, left = desk.head.call_page(""), len(desk.told) - MOST_LINES
    there = (Link(desk.say("heads", "list_page"), page),) if page is not None else ()
    if left <= 0:
        return Block(links=there)
    more = desk.say("fleet", "more_no_page" if page is None else "more", count=left, page=page)
    return Block(lines=(more,), links=there)
