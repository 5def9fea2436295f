"""Telling, kept alive: an error in it must neither stop the watch nor leave anybody untold."""

import logging
from collections.abc import Callable, Iterable

from monitor.model.alert import Alert
from monitor.model.batch import Batch
from monitor.model.people import ChannelKind
from monitor.model.vessel import Vessel
from monitor.settings import Settings
from monitor.telling import Telling, plain_notices

log = logging.getLogger(__name__)


class Teller:
    """Plans the notices of a yard, by `Telling` or, where that fails, plainly.

    Args:
        settings: people, rota and ladder.
        kept: where telling stood at the last commit, None where nothing was planned yet.
        open_alerts: gives the alerts that are open, asked where there is nothing to go on from.
        sendable: the channels that there are senders for.

    Attributes:
        failing: what went wrong, None where nothing did since the start.
    """

    def __init__(
        self,
        settings: Settings,
        kept: str | None,
        open_alerts: Callable[[], Iterable[Alert]],
        sendable: frozenset[ChannelKind],
    ) -> None:
        self.failing: str | None = None
        self._settings, self._kept, self._open_alerts, self._sendable = settings, kept, open_alerts, sendable
        self._telling = self._resumed()

    def take(self, batch: Batch, record: Callable[[str], Vessel | None]) -> None:
        """Put into a batch what is to be told of it."""
        try:
            self._telling.take(batch, record)
        except Exception as error:  # whatever it was, the yard is told, and the watch goes on
            log.exception("telling failed; what this batch brings is told to duty at once")
            self.failing = repr(error)
            batch.calls, batch.telling = {}, None
            batch.notices = list(plain_notices(batch, self._settings.roster, self._sendable))
            self._telling = self._resumed()
            return
        if batch.telling is not None:
            self._kept = batch.telling

    def _resumed(self) -> Telling:
        """Give a telling that goes on from what is kept; where it cannot, what nobody has seen is told anew."""
        settings = self._settings
        given = (settings.roster, settings.telling, settings.yard.calendar)
        if self._kept is not None:
            try:
                return Telling(*given, self._kept, sendable=self._sendable)
            except ValueError as error:
                log.exception("where telling stood cannot be read: what nobody has seen is told anew")
                self.failing = repr(error)
        made = Telling(*given, sendable=self._sendable)
        made.adopt(self._open_alerts())
        return made
