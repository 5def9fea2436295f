"""A notice as plain JSON for a webhook: names in English that do not change, words in the reader's language.

The body is ``{"type", "timestamp", "data"}``. ``type`` is ``call.`` and the notice's kind (``call.new``, ``call.more``,
``call.worse``, ``call.back``, ``call.again``, ``call.escalated``, ``call.taken``, ``call.handed``, ``call.unaccepted``,
``call.unreached``, ``call.aside``, ``call.over``), ``digest``, or ``test``, which tells of nothing that is wrong.
``timestamp`` is event time, ISO 8601, UTC. ``data`` holds:

- ``notice``, ``call``: their ids; ``call`` is null for a digest and a test.
- ``about``: ``vessel``, ``fleet``, ``digest`` or ``test``; ``cause`` of a fleet event: ``frost``, ``power``, ``water``
  or ``silence``, else null.
- ``vessel``: ``{"id", "name", "place"}`` where it is about one, else null; ``vessels``: how many it is about.
- ``title``: what an e-mail would have as its subject; ``happened``: the sentence under it.
- ``priority``: the highest that stands (``caution``, ``warning``, ``alarm``), null where none does; ``has_it``: names.
- ``alerts``: in the order of the notice, at most 100, each ``{"id", "vessel", "boat", "place", "rule", "subject",
  "kind", "state", "priority", "title", "what", "sure", "how_long", "since", "cleared", "ended", "has_it"}``, and for
  whoever has the duty ``first`` and ``never``. ``state`` is one of ISA-18.2. ``more``: how many alerts did not fit.
- ``url``: the page to open; null where none is known, or where the pages can be opened on their own machine only.

Never in it: her card, which says where the keys are, and the link by which to acknowledge, which is one person's: a
webhook often ends in a room of many.
"""

from datetime import UTC, datetime
from typing import Any

from monitor.messages.desk import Desk, Told
from monitor.messages.happened import happened
from monitor.messages.letter import is_of_many, page_of, subject_of
from monitor.messages.letterhead import Letterhead
from monitor.messages.plain import one_line
from monitor.model.notice import NoticeKind
from monitor.model.outbox import Waiting
from monitor.model.vessel import Vessel

MOST_ALERTS = 100
_OF_NO_CALL = frozenset({NoticeKind.DIGEST, NoticeKind.TEST})


def write_hook(waiting: Waiting, head: Letterhead, *, strict: bool = False) -> dict[str, Any]:
    """Write a notice as JSON.

    Args:
        waiting: what is to be told to whom, as it stands now.
        head: what all messages of the yard share.
        strict: raise where words are missing, instead of falling back.

    Raises:
        ValueError: where it tells of no alert, and is no digest.
        MissingWordsError: only when strict.
    """
    desk = Desk(waiting, head, strict=strict)
    notice, call = waiting.notice, waiting.call
    alone, many = notice.kind if notice.kind in _OF_NO_CALL else None, is_of_many(desk)
    vessel = None if alone or many else desk.worst.vessel
    return {
        "type": alone.value if alone else f"call.{notice.kind.value}",
        "timestamp": _iso(desk.now_ms),
        "data": {
            "notice": notice.id,
            "call": None if call is None else call.id,
            "about": alone.value if alone else "fleet" if many else "vessel",
            "cause": call.about if call is not None and many else None,
            "vessel": None if vessel is None else _vessel(vessel),
            "vessels": len({t.vessel.id for t in desk.told}),
            "title": one_line(subject_of(desk)),
            "happened": desk.say("told", alone.value) if alone else happened(desk),
            "priority": None if desk.priority is None else desk.priority.word,
            "has_it": desk.holders()[0],
            "alerts": [_alert(desk, told) for told in desk.told[:MOST_ALERTS]],
            "more": max(len(desk.told) - MOST_ALERTS, 0),
            "url": page_of(desk),
        },
    }


def _vessel(vessel: Vessel) -> dict[str, str]:
    return {"id": vessel.id, "name": one_line(vessel.name), "place": one_line(vessel.place)}


def _alert(desk: Desk, told: Told) -> dict[str, Any]:
    alert, words = told.alert, told.words
    said: dict[str, Any] = {
        "id": alert.id,
        "vessel": alert.vessel,
        "boat": one_line(told.vessel.name),
        "place": one_line(told.vessel.place),
        "rule": alert.rule,
        "subject": alert.subject,
        "kind": alert.finding.kind,
        "state": alert.state.value,
        "priority": alert.priority.word,
        "title": words.title,
        "what": words.what,
        "sure": words.sure,
        "how_long": words.how_long if told.stands else None,
        "since": _iso(alert.opened_ms),
        "cleared": None if alert.returned_ms is None else _iso(alert.returned_ms),
        "ended": None if alert.ended_ms is None else _iso(alert.ended_ms),
        "has_it": desk.holder(told),
    }
    if not desk.notice.owner:
        said |= {"first": list(words.first), "never": list(words.never)} if told.stands else {"first": [], "never": []}
    return said


def _iso(at_ms: int) -> str:
    return datetime.fromtimestamp(at_ms / 1000, UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
