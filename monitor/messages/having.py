"""Who has it, in words: for the yard, and for an owner, who is asked not to board."""

from monitor.messages.desk import LONGEST_NAME, Desk, Told
from monitor.messages.happened import is_offered, is_unaccepted
from monitor.messages.plain import one_line
from monitor.model.notice import NoticeKind

_OF_WHO_HAS_IT = {NoticeKind.AGAIN, NoticeKind.ESCALATED, NoticeKind.TAKEN, NoticeKind.HANDED, NoticeKind.UNACCEPTED}


def who_has(desk: Desk) -> str:
    """Say who has what a message tells of."""
    names, all_of_it = desk.holders()
    if desk.notice.owner:
        return _for_owner(desk, names, all_of_it=all_of_it)
    if names and not all_of_it:
        return desk.say_who("who", "some", names=names)
    return who_has_one(desk, desk.worst) if len(names) < 2 else desk.say_who("who", "has", names=names)  # noqa: PLR2004 - two names are a list


def who_line(desk: Desk) -> str:
    """Say who has what a message tells of; empty where its first line says so already."""
    who, (names, _) = who_has(desk), desk.holders()
    plain = [desk.say("who", "nobody"), desk.say("who", "you")]
    plain += [desk.say_who("who", "has", names=names)] if names else []
    said_first = who in plain and desk.notice.kind in _OF_WHO_HAS_IT and not is_offered(desk)
    return "" if said_first or is_unaccepted(desk) else who


def who_has_one(desk: Desk, told: Told) -> str:
    """Say who has one alert, whether it is being handed over, and else who has seen it."""
    who, offered = desk.holder(told), told.alert.offered_to
    if offered is not None and offered != told.alert.has_it:
        to = one_line(offered, LONGEST_NAME)
        if desk.is_reader(to):
            return (
                desk.say("who", "offered_to_you_by_nobody")
                if who is None
                else desk.say("who", "offered_to_you", who=who)
            )
        if who is None:
            return desk.say("who", "offered_by_nobody", to=to)
        return desk.say("who", "offered", who=who, to=to)
    if who is not None:
        return desk.say("who", "you") if desk.is_reader(who) else desk.say_who("who", "has", names=[who])
    seen = told.alert.acknowledged_by
    if seen and told.alert.acknowledged_ms is not None:
        return desk.say("who", "seen", who=one_line(seen, LONGEST_NAME))
    return desk.say("who", "nobody")


def _for_owner(desk: Desk, names: list[str], *, all_of_it: bool) -> str:
    if desk.is_over:
        return desk.say("who", "owner_look", yard=desk.yard) if any(t.waits for t in desk.told) else ""
    if not names:
        return desk.say("who", "owner_nobody", yard=desk.yard)
    if not all_of_it:
        return desk.say_who("who", "owner_some", names=names, yard=desk.yard)
    if len(names) == 1 and desk.is_reader(names[0]):
        return desk.say("who", "owner_you", yard=desk.yard)
    return desk.say_who("who", "owner_has", names=names, yard=desk.yard)
