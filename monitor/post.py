"""Puts together everything by which people are told: a sender for each channel, the retained alerts, the heartbeat."""

import json
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future
from dataclasses import dataclass
from datetime import UTC, datetime
from email.message import EmailMessage
from functools import partial
from zoneinfo import ZoneInfo

from monitor.messages.hook import write_hook
from monitor.messages.letterhead import Letterhead
from monitor.messages.links import LinkSigner, can_be_opened_elsewhere
from monitor.messages.mail import write_mail
from monitor.messages.short import write_short
from monitor.model.batch import Batch
from monitor.model.notice import Delivery
from monitor.model.outbox import Waiting
from monitor.model.people import ChannelKind
from monitor.notify.heartbeat import Heartbeat, Pulse
from monitor.notify.mqtt import AlertBoard
from monitor.notify.sender import Sender
from monitor.notify.service import ServiceConnection, ServiceMessage
from monitor.notify.smtp import SmtpConnection
from monitor.notify.wall import wall_ms
from monitor.notify.webhook import WebhookConnection, WebhookMessage
from monitor.picture import Pictures
from monitor.settings import ClockMode, Settings
from monitor.store.outbox import JournalOutbox
from monitor.store.view import JournalView

NO_SENDER = "nobody@localhost"
"""Who messages come from that are no e-mails, where no mail server is set."""


@dataclass(frozen=True, slots=True)
class Given:
    """What the post is given by the agent.

    Attributes:
        outbox: what waits.
        view: what messages speak of.
        pages: gives the address that links begin with.
        links: signs the links by which an alert is acknowledged.
        report: has a delivery committed.
        pulse: what the heartbeat says; None where the loop does not turn.
    """

    outbox: JournalOutbox
    view: JournalView
    pages: Callable[[], str]
    links: LinkSigner
    report: Callable[[Delivery], "Future[None]"]
    pulse: Callable[[], Pulse | None]


class Post:
    """The senders of one yard's agent."""

    def __init__(self, settings: Settings, given: Given) -> None:
        self._settings, self._given = settings, given
        self._zone = ZoneInfo(settings.yard.zone)
        beats = settings.heartbeat
        self._board = AlertBoard(
            settings.broker,
            settings.yard.id,
            given.outbox,
            self._zone,
            heartbeat=beats is not None and beats.mqtt,
        )
        self._heart = None if beats is None else Heartbeat(beats, settings.yard.id, given.pulse, self._board.beat)
        self._senders: Sequence[Sender[EmailMessage] | Sender[WebhookMessage] | Sender[ServiceMessage]] = tuple(
            self._make_senders()
        )

    @property
    def channels(self) -> frozenset[ChannelKind]:
        """The channels that notices can go out by."""
        return frozenset(sender.channel for sender in self._senders)

    def start(self) -> None:
        """Start every part."""
        self._board.start()
        for part in (*self._senders, *((self._heart,) if self._heart is not None else ())):
            part.start()

    def stop_sending(self) -> None:
        """Stop what reports to the journal, while it can still be written."""
        for part in (*self._senders, *((self._heart,) if self._heart is not None else ())):
            part.stop()

    def stop(self) -> None:
        """Stop the rest."""
        self._board.stop()

    def committed(self, batch: Batch) -> None:
        """Hear of a batch that was committed."""
        if batch.alerts:
            self._board.changed(batch.alerts)
        waiting = {notice.channel for notice in batch.notices}
        for sender in self._senders:
            if sender.channel in waiting:
                sender.wake()

    def delays(self) -> Iterator[str]:
        """Say what reaches others late, or not at all."""
        if self._settings.journal.clock is ClockMode.WALL:  # in the demo nobody is told, as everybody knows
            if not self._senders:
                yield "Nobody is told of anything: the settings have no mail server, webhook or phone service."
            elif not self._settings.roster.first(wall_ms()):
                yield "Nobody of the yard is told of anything: the settings name nobody who has the duty this week."
        for sender in self._senders:
            progress, what = sender.progress, _WHAT[sender.channel]
            if progress.failing:
                yield f"{what} are not sent: {progress.failing}"
            if progress.refused:
                one = progress.refused == 1
                given_up = f"1 of the {what.lower()} was" if one else f"{progress.refused} {what.lower()} were"
                yield f"{given_up} given up since the start; the log says why."
        if self._board.progress.failing:
            yield f"Alerts are not published over MQTT: {self._board.progress.failing}"
        if self._heart is not None and self._heart.progress.failing:
            yield f"The heartbeat is not taken: {self._heart.progress.failing}"

    def _make_senders(
        self,
    ) -> Iterator[Sender[EmailMessage] | Sender[WebhookMessage] | Sender[ServiceMessage]]:
        settings, given = self._settings, self._given
        head = self.letterhead()
        if settings.mail is not None:

            def mail(waiting: Waiting, at_ms: int) -> EmailMessage:
                return write_mail(waiting, head, datetime.fromtimestamp(at_ms / 1000, UTC))

            connect = partial(SmtpConnection, settings.mail)
            yield Sender(ChannelKind.EMAIL, given.outbox, mail, connect, given.report)
        if settings.webhook is not None:

            def hook(waiting: Waiting, at_ms: int) -> WebhookMessage:
                body = json.dumps(write_hook(waiting, head), ensure_ascii=False).encode()
                return WebhookMessage(waiting.notice.id, waiting.notice.address, at_ms, body)

            post = partial(WebhookConnection, settings.webhook)
            yield Sender(ChannelKind.WEBHOOK, given.outbox, hook, post, given.report)
        if ChannelKind.SERVICE in settings.sendable:

            def short(waiting: Waiting, _at_ms: int) -> ServiceMessage:
                return ServiceMessage(waiting.notice.address, *write_short(waiting, head))

            ring = partial(ServiceConnection, settings.service)
            yield Sender(ChannelKind.SERVICE, given.outbox, short, ring, given.report)

    def letterhead(self) -> Letterhead:
        """Give what all messages of the yard share."""
        given, mail = self._given, self._settings.mail
        return Letterhead(
            sender=NO_SENDER if mail is None else mail.sender,
            name=self._settings.yard.name,
            page=lambda vessel: self._link(f"/vessels/{vessel}"),
            zone=self._zone,
            call_page=lambda call: self._link(f"/calls/{call}".rstrip("/")),
            acknowledge=lambda notice: self._link(f"/a/{given.links.sign(notice)}"),
            picture=Pictures(given.view, given.view, self._zone),
        )

    def _link(self, path: str) -> str | None:
        """Give a link into the pages; None where they cannot be opened from the machine a message is read on."""
        web, address = self._settings.web, self._given.pages()
        opens = web.enabled and (web.address is not None or can_be_opened_elsewhere(address))
        return f"{address}{path}" if opens else None


_WHAT = {ChannelKind.EMAIL: "Mails", ChannelKind.WEBHOOK: "Webhooks", ChannelKind.SERVICE: "Messages to phone services"}
