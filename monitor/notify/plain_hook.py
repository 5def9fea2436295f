"""A notice in plain words as a webhook's JSON: the fields of `monitor.messages.hook`, as far as they are known."""

import json
from datetime import UTC, datetime

from monitor.messages.plain import one_line
from monitor.model.call import CallKind
from monitor.model.notice import NoticeKind
from monitor.model.outbox import Waiting
from monitor.notify.plain_words import plain_words


def plain_hook(waiting: Waiting) -> bytes:
    """Write a notice in plain words as JSON (UTF-8): its alerts are told in ``happened``, and listed in none.

    Raises:
        ValueError: where there is nothing to tell.
    """
    notice, call, words = waiting.notice, waiting.call, plain_words(waiting)
    alone = notice.kind if notice.kind in {NoticeKind.DIGEST, NoticeKind.TEST} else None
    many = call is not None and call.kind is CallKind.FLEET and not notice.owner and notice.vessel is None
    vessel = None if alone or many else next((v for _, v in waiting.alerts), None)
    boat = None if vessel is None else {"id": vessel.id, "name": one_line(vessel.name), "place": one_line(vessel.place)}
    at = datetime.fromtimestamp(notice.at_ms / 1000, UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
    said = {
        "type": alone.value if alone else f"call.{notice.kind.value}",
        "timestamp": at,
        "data": {
            "notice": notice.id,
            "call": None if call is None else call.id,
            "about": alone.value if alone else "fleet" if many else "vessel",
            "cause": call.about if call is not None and many else None,
            "vessel": boat,
            "vessels": len({v.id for _, v in waiting.alerts}),
            "title": words.title,
            "happened": " ".join(words.body.split("\n")),
            "priority": None if words.priority is None else words.priority.word,
            "has_it": list(dict.fromkeys(a.has_it for a, _ in waiting.alerts if a.has_it is not None)),
            "alerts": [],
            "more": len(waiting.alerts),
            "url": None,
        },
    }
    return json.dumps(said, ensure_ascii=False).encode()
