"""What has happened, and how a subject line begins: by why a notice was planned, and by what has overtaken it since."""

from monitor.messages.desk import Desk
from monitor.messages.plain import capital, one_line
from monitor.model.notice import NoticeKind

_LONGEST_NAME_IN_MARK = 24
_OF_WHO_HAS_IT = {
    NoticeKind.AGAIN,
    NoticeKind.ESCALATED,
    NoticeKind.TAKEN,
    NoticeKind.HANDED,
    NoticeKind.UNACCEPTED,
}
_OF_WHAT_IS_WRONG = {NoticeKind.NEW, NoticeKind.MORE, NoticeKind.WORSE, NoticeKind.BACK}


def mark(desk: Desk) -> str:
    """Give what leads the subject line: how soon, or who has it, or that it is over."""
    if desk.standing:
        return _mark_standing(desk)
    if not desk.is_over:
        return desk.say("marks", "aside")
    if any(t.waits for t in desk.told):
        return desk.say("marks", "owner_look" if desk.notice.owner else "look")
    ended = all(t.alert.ended_ms is not None for t in desk.told)
    return desk.say("marks", "over" if ended else "cleared")


def lead(desk: Desk) -> str:
    """Give the first line of a message: the mark and what has happened, without saying twice who has it."""
    led, said = mark(desk), happened(desk)
    if desk.is_over and desk.notice.kind is NoticeKind.OVER and any(t.alert.ended_ms is None for t in desk.told):
        return f"{led}." if any(t.waits for t in desk.told) else said
    if not desk.standing and not desk.is_over:
        return said
    told_by_mark = is_offered(desk) or (_is_taken(desk) and not is_unaccepted(desk))
    return said if said and told_by_mark and desk.notice.kind in _OF_WHO_HAS_IT else f"{led}. {said}".strip()


def happened(desk: Desk) -> str:
    """Say what has happened, in a sentence; empty where the rest of the message says it."""
    if desk.standing:
        return _standing(desk)
    if not desk.is_over:
        return desk.say("told", "aside" if desk.notice.kind is NoticeKind.ASIDE else "aside_meanwhile")
    if desk.notice.kind is NoticeKind.OVER:
        return desk.say("told", "over" if len(desk.told) == 1 else "over_all")
    return desk.say("told", "late", at=desk.at(max(_over_ms(desk))))


def is_offered(desk: Desk) -> bool:
    """Whether it is handed to its reader, who has not accepted it yet."""
    if desk.notice.kind is not NoticeKind.HANDED:
        return False
    return any(desk.is_offered_to_reader(t) for t in desk.standing)


def has_another(desk: Desk) -> bool:
    """Whether the news is that somebody else has all of it: its reader need do nothing."""
    names, _ = desk.holders()
    return desk.notice.kind is NoticeKind.TAKEN and _is_taken(desk) and not any(desk.is_reader(name) for name in names)


def is_unaccepted(desk: Desk) -> bool:
    """Whether its reader handed it to somebody who has not accepted it yet."""
    return desk.notice.kind is NoticeKind.UNACCEPTED and any(t.alert.offered_to for t in desk.standing)


def _is_taken(desk: Desk) -> bool:
    names, all_of_it = desk.holders()
    return bool(desk.standing and names and all_of_it)


def _mark_standing(desk: Desk) -> str:
    """Give how soon; or who has it where that is the news, and always to an owner, who is asked to do nothing."""
    names, _ = desk.holders()
    owner = desk.notice.owner
    if is_offered(desk):
        return desk.say("marks", "handed")
    if _is_taken(desk) and not is_unaccepted(desk) and (owner or desk.notice.kind in _OF_WHO_HAS_IT):
        if len(names) == 1 and desk.is_reader(names[0]):
            return desk.say("marks", "taken_by_you")
        return desk.say("marks", "taken", who=one_line(desk.listed(names), _LONGEST_NAME_IN_MARK), many=len(names) > 1)
    if desk.is_clearing:
        return desk.say("marks", "clearing")
    priority = desk.worst.alert.priority
    return desk.say("owner_marks", priority.word) if owner else desk.priority_words(priority)


def _standing(desk: Desk) -> str:
    kind, (names, all_of_it) = desk.notice.kind, desk.holders()
    if kind is NoticeKind.OVER:
        return desk.say("told", "back_after_all")
    if kind is NoticeKind.ASIDE:
        return desk.say("told", "back")
    if kind in _OF_WHO_HAS_IT and not is_offered(desk) and not is_unaccepted(desk):
        return _of_who_has_it(desk, names, all_of_it=all_of_it)
    if desk.is_clearing and kind in _OF_WHAT_IS_WRONG:
        return desk.say("told", "clearing")
    # Who hands it over to whom, or whose owner it is, is said by whoever planned the notice.
    reason = f"{capital(one_line(desk.notice.reason)).rstrip('.')}."
    return desk.say("told", kind.value, reason=reason, fleet=desk.notice.vessel is None)


def _of_who_has_it(desk: Desk, names: list[str], *, all_of_it: bool) -> str:
    if names and all_of_it:
        if len(names) == 1 and desk.is_reader(names[0]):
            return desk.say("told", "taken_by_you")
        return desk.say_who("told", "taken", names=names)
    if names or desk.notice.owner:
        return ""
    if desk.notice.kind in {NoticeKind.AGAIN, NoticeKind.ESCALATED}:
        return desk.say("told", desk.notice.kind.value)
    return desk.say("told", "released")


def _over_ms(desk: Desk) -> list[int]:
    """Give when each alert cleared or ended, the earlier where both."""
    times = ((t.alert.returned_ms, t.alert.ended_ms) for t in desk.told)
    return [min(at for at in both if at is not None) for both in times]
