"""What is told where telling itself fails: duty at once of every alarm and warning that opens, comes back or rises.

No ladder, no gathering, no owners: an error of ours must cost somebody's sleep, and not a boat.
"""

from collections.abc import Iterator

from monitor.model.alert import AlertChange, AlertEvent
from monitor.model.batch import Batch
from monitor.model.notice import Notice, NoticeKind
from monitor.model.outbox import notice_id
from monitor.model.people import ChannelKind
from monitor.model.roster import Roster, channels
from monitor.model.scale import AlertState, Priority

WHY = "telling failed by an error of ours, so everything is told to duty at once"


def plain_notices(batch: Batch, roster: Roster, sendable: frozenset[ChannelKind]) -> Iterator[Notice]:
    """Give a notice for each such event and address."""
    for seq, place, event in batch.events:
        if not _is_told(event):
            continue
        for person in roster.next_to_tell(event.at_ms):
            for channel in channels(person):
                if channel.kind not in sendable or (channel.rings and event.priority < Priority.ALARM):
                    continue
                number = seq * 1_000 + place
                yield Notice(
                    id=notice_id(event.alert, NoticeKind.NEW, event.at_ms, number, channel.kind, channel.address),
                    channel=channel.kind,
                    address=channel.address,
                    person=person.name,
                    call=event.alert,
                    kind=NoticeKind.NEW,
                    alerts=(event.alert,),
                    at_ms=event.at_ms,
                    reason=WHY,
                    vessel=event.vessel,
                    language=person.language,
                )


def _is_told(event: AlertEvent) -> bool:
    if event.state is not AlertState.UNACKNOWLEDGED or event.priority < Priority.WARNING:
        return False
    rose = event.change is AlertChange.PRIORITY and event.was is not None and event.priority > event.was
    return rose or event.change in {AlertChange.OPENED, AlertChange.REOPENED, AlertChange.BACK}
