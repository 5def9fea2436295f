"""A test message to whoever has the duty: nothing is wrong, somebody only wants to know whether they can be reached.

It is no part of the fold: it tells of no alert, changes nothing in telling's state, and goes out by every channel that
an alarm would.
"""

from collections.abc import Collection, Iterator

from monitor.model.notice import Notice, NoticeKind
from monitor.model.outbox import notice_id
from monitor.model.people import ChannelKind
from monitor.model.roster import Roster, channels


def ring_of(vessel: str) -> str:
    """Give what stands in a test message in place of a call: the tests made for a vessel stand together by it."""
    return f"test-{vessel}"


def ring_notices(
    roster: Roster, sendable: Collection[ChannelKind], vessel: str, at_ms: int, reason: str
) -> Iterator[Notice]:
    """Give a test message for each address of whoever would be told of an alarm now, each once.

    Args:
        roster: the yard's people.
        sendable: the channels that messages can go out by.
        vessel: the vessel whose watch is being taken on.
        at_ms: event time.
        reason: who tries it and for which boat, to follow *because*.
    """
    call, seen = ring_of(vessel), set()
    for person in roster.next_to_tell(at_ms):
        for channel in channels(person):
            where = (channel.kind, channel.address)
            if channel.kind not in sendable or where in seen:
                continue
            seen.add(where)
            yield Notice(
                id=notice_id(call, NoticeKind.TEST, at_ms, 0, *where),
                channel=channel.kind,
                address=channel.address,
                person=person.name,
                call=call,
                kind=NoticeKind.TEST,
                alerts=(),
                at_ms=at_ms,
                reason=reason,
                vessel=vessel,
                language=person.language,
            )
