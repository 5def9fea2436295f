"""How calls and notices stand in the journal's rows, and back."""

import json
from collections.abc import Iterable

from monitor.model.call import Call, CallKind
from monitor.model.notice import Notice, NoticeKind
from monitor.model.scale import Priority
from monitor.store.rows import text_of, whole

CALL_COLUMNS = "id, kind, about, opened_ms, priority, alerts, vessels, ended_ms, accepted_ms, accepted_by, rung"
NOTICE_COLUMNS = "id, channel, address, person, call, kind, alerts, at_ms, reason, vessel, owner, language"


def call_row(call: Call) -> tuple[object, ...]:
    """Lay a call out as its row, in the order of `CALL_COLUMNS`."""
    return (
        call.id,
        call.kind.value,
        call.about,
        call.opened_ms,
        None if call.priority is None else call.priority.word,
        json.dumps(call.alerts),
        json.dumps(call.vessels),
        call.ended_ms,
        call.accepted_ms,
        call.accepted_by,
        call.rung,
    )


def call_from_row(row: Iterable[object]) -> Call:
    """Make a call from its row."""
    key, kind, about, opened, priority, alerts, vessels, ended, accepted, by, rung = row
    return Call(
        id=str(key),
        kind=CallKind(str(kind)),
        about=str(about),
        opened_ms=whole(opened) or 0,
        priority=None if priority is None else Priority[str(priority).upper()],
        alerts=tuple(json.loads(str(alerts))),
        vessels=tuple(json.loads(str(vessels))),
        ended_ms=whole(ended),
        accepted_ms=whole(accepted),
        accepted_by=text_of(by),
        rung=whole(rung) or 0,
    )


def notice_row(notice: Notice) -> tuple[object, ...]:
    """Lay a notice out as its row, in the order of `NOTICE_COLUMNS`."""
    return (
        notice.id,
        notice.channel,
        notice.address,
        notice.person,
        notice.call,
        notice.kind.value,
        json.dumps(notice.alerts),
        notice.at_ms,
        notice.reason,
        notice.vessel,
        int(notice.owner),
        notice.language,
    )


def notice_from_row(row: Iterable[object]) -> Notice:
    """Make a notice from its row."""
    key, channel, address, person, call, kind, alerts, at_ms, reason, vessel, owner, language = row
    return Notice(
        id=str(key),
        channel=str(channel),
        address=str(address),
        person=str(person),
        call=str(call),
        kind=NoticeKind(str(kind)),
        alerts=tuple(json.loads(str(alerts))),
        at_ms=whole(at_ms) or 0,
        reason=str(reason),
        vessel=text_of(vessel),
        owner=bool(owner),
        language=str(language),
    )
