"""Telling, kept alive: an error in it must neither stop the watch nor leave anybody untold."""

import logging
from collections.abc import Callable, Iterable

from monitor.model.alert import Alert
from monitor.model.batch import Batch
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

    Attributes:
        failing: what went wrong, None where nothing did since the start.
    """

    def __init__(
        self,
        settings: Settings,
        kept: str | None,
        open_alerts: Callable[[], Iterable[Alert]],
    ) -> None:
        self.failing: str | None = None
        self._failed = 0
        self._settings, self._kept, self._open_alerts = settings, kept, open_alerts
        self._telling = self._resumed()

    def take(self, batch: Batch, record: Callable[[str], Vessel | None]) -> None:
        """Put into a batch what is to be told of it."""
        try:
            self._telling.take(batch, record)
        except Exception as error:  # whatever it was, the yard is told, and the watch goes on
            log.exception("telling failed; what this batch brings is told to duty at once")
            self.failing = repr(error)
            self._go_on_plainly(batch)
            return
        self._failed = 0
        for trouble in self._telling.troubles:
            log.error("a call could not be told, and is tried again later: %s", trouble)
            self.failing = trouble
        self._telling.troubles.clear()
        if batch.telling is not None:
            self._kept = batch.telling

    def next_told_ms(self, call: str) -> int | None:
        """Give when somebody is told of a call again if nobody has it by then; None where nobody is. Any thread."""
        return self._telling.next_told_ms(call)

    def _go_on_plainly(self, batch: Batch) -> None:
        """Tell duty what a batch brings, and resume; where that fails too, telling begins with nothing."""
        self._failed += 1
        if self._failed > 1:
            self._kept = None  # what is kept may itself be what fails
        batch.calls, batch.telling, batch.notices = {}, None, []
        try:
            batch.notices = list(plain_notices(batch, self._settings.roster, self._settings.sendable))
            self._telling = self._resumed()
            self._telling.adopt(batch.alerts.values())
        except Exception:  # as in take: the journal that is asked here may be what fails
            log.exception("telling cannot be resumed; it begins with nothing")
            self._telling = self._made(None)

    def _resumed(self) -> Telling:
        """Give a telling that goes on from what is kept; where it cannot, what nobody has seen is told anew."""
        if self._kept is not None:
            try:
                return self._made(self._kept)
            except ValueError as error:
                log.exception("where telling stood cannot be read: what nobody has seen is told anew")
                self.failing = repr(error)
        made = self._made(None)
        made.adopt(self._open_alerts())
        return made

    def _made(self, kept: str | None) -> Telling:
        settings = self._settings
        return Telling(settings.roster, settings.telling, settings.yard.calendar, kept, sendable=settings.sendable)
