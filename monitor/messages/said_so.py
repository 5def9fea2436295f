"""Where the reader of a message says that they have it: by the link in it, or else where the pages can be opened."""

from monitor.messages.blocks import Block, Link
from monitor.messages.desk import Desk, Told
from monitor.messages.happened import is_offered
from monitor.model.notice import NoticeKind


def say_so(desk: Desk) -> Block:
    """Give the part of a message by which its reader says that they have it; empty where that is not wanted of them."""
    if is_offered(desk):
        page = desk.head.page(desk.worst.vessel.id)
        if page is not None:
            return Block(links=(Link(desk.say("heads", "accept"), page),))
        return Block(lines=(_at_the_yard(desk, "accept_here"),))
    if not _asked(desk):
        return Block()
    address = desk.head.acknowledge(desk.notice.id)
    if address is None:
        return Block(lines=(_at_the_yard(desk, "say_here"),))
    takes = any(_falls_to_reader(desk, told) for told in _asked(desk))
    return Block(links=(Link(desk.say("heads", "have" if takes else "seen_it"), address),))


def _asked(desk: Desk) -> list[Told]:
    """Give the alerts that nobody has seen yet, where the reader is asked for it."""
    if desk.notice.owner or desk.notice.kind is NoticeKind.DIGEST:
        return []
    return [t for t in desk.told if t.alert.acknowledged_ms is None and t.alert.ended_ms is None and not t.is_aside]


def _falls_to_reader(desk: Desk, told: Told) -> bool:
    """Whether its reader has an alert once they have seen it: who has it keeps it, what has cleared is nobody's."""
    holder = desk.holder(told)
    return told.stands and (holder is None or desk.is_reader(holder))


def _at_the_yard(desk: Desk, key: str) -> str:
    alert = next((t.alert for t in _asked(desk)), desk.worst.alert)
    return desk.say("heads", key, alert=alert.id, who=desk.reader)
