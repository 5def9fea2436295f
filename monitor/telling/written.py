"""The notices of a batch, as they are planned: one for each address that somebody is told by."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from monitor.model.notice import Notice, NoticeKind
from monitor.model.outbox import notice_id
from monitor.model.people import ChannelKind, YardPerson
from monitor.model.roster import address_key, channels
from monitor.telling.state import OpenCall, Reader

NEWS = frozenset({NoticeKind.NEW, NoticeKind.MORE, NoticeKind.WORSE, NoticeKind.BACK})
"""Kinds that are NEW to whoever was not told of the call before."""
LAST_WORDS = frozenset({NoticeKind.OVER, NoticeKind.ASIDE})


@dataclass(frozen=True, slots=True)
class Word:
    """What is told, and why.

    Attributes:
        kind: why it is sent. Of NEW, MORE, WORSE and BACK an address that was not told of the call before gets NEW,
            another one MORE for NEW.
        alerts: ids of the alerts it tells of.
        at_ms: event time.
        reason: why it goes to them.
        rings: whether it wakes who sleeps.
        vessel: the vessel it is about, None for a fleet event told to the yard, for several boats, and for a digest.
        owner: whether it goes to them as her owner.
    """

    kind: NoticeKind
    alerts: tuple[str, ...]
    at_ms: int
    reason: str
    rings: bool = False
    vessel: str | None = None
    owner: bool = False


@dataclass(slots=True)
class Written:
    """Notices that have been planned."""

    sendable: frozenset[ChannelKind]
    notices: list[Notice] = field(default_factory=list)

    def reaches(self, person: YardPerson, *, rings: bool) -> bool:
        """Say whether somebody can be told by any channel, those that ring among them or not."""
        return any(c.kind in self.sendable and (rings or not c.rings) for c in channels(person))

    def tell(self, call: OpenCall, person: YardPerson, word: Word, but: set[str] | None = None) -> bool:
        """Plan a notice for each of somebody's addresses; say whether there was one.

        Args:
            call: what they are told of.
            person: who.
            word: what.
            but: addresses that have been told this already, which grows.
        """
        told = False
        for channel in channels(person):
            key = address_key(channel.kind, channel.address)
            if channel.kind not in self.sendable or (channel.rings and not word.rings):
                continue
            if but is not None:
                if key in but:
                    continue
                but.add(key)
            reader = call.readers.get(key)
            if reader is not None and word.owner and not reader.owner:
                # The yard's duty and her owner are one: they hear of her as the duty does.
                continue
            if reader is not None and not word.owner:
                reader.owner = False
            if reader is None:
                reader = call.readers[key] = Reader(
                    person.id, person.name, channel.kind, channel.address, person.language, word.owner, channel.rings
                )
            self._write(call, reader, word)
            told = True
        call.note(word.at_ms, person.name, word.kind if told else "not told", word.reason)
        return told

    def tell_readers(self, call: OpenCall, word: Word, which: Callable[[Reader], bool]) -> None:
        """Plan a notice for each address that was told of a call before."""
        for reader in call.readers.values():
            sent = reader.channel in self.sendable and (word.rings or not reader.rings)
            if sent and which(reader):
                self._write(call, reader, word)
                call.note(word.at_ms, reader.name, word.kind, word.reason)

    def digest(self, person: YardPerson, alerts: Sequence[str], at_ms: int, reason: str) -> None:
        """Plan a digest for somebody."""
        for channel in channels(person):
            if channel.kind in self.sendable and not channel.rings:
                key = notice_id("", NoticeKind.DIGEST, at_ms, 0, channel.kind, channel.address)
                where = (channel.kind, channel.address, person.name)
                self.notices.append(
                    Notice(key, *where, "", NoticeKind.DIGEST, tuple(alerts), at_ms, reason, language=person.language)
                )

    def _write(self, call: OpenCall, reader: Reader, word: Word) -> None:
        kind = word.kind
        if kind in NEWS:
            knew = reader.count > 0 or (not word.owner and address_key(reader.channel, reader.address) in call.knew)
            kind = NoticeKind.NEW if not knew else NoticeKind.MORE if kind is NoticeKind.NEW else kind
        self.notices.append(
            Notice(
                id=notice_id(call.id, kind, word.at_ms, reader.count, reader.channel, reader.address),
                channel=reader.channel,
                address=reader.address,
                person=reader.name,
                call=call.id,
                kind=kind,
                alerts=word.alerts,
                at_ms=word.at_ms,
                reason=word.reason,
                vessel=word.vessel,
                owner=word.owner,
                language=reader.language,
            )
        )
        reader.count += 1
        reader.told_ms = word.at_ms
        reader.over = kind in LAST_WORDS
