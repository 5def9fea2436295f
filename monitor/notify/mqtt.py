"""Open alerts, retained at the broker for other programs, and cleared when they end.

Only the wanted state is kept in memory, never a queue: after any outage the broker is brought to what is open now. At
every connection the board learns what the broker retains (all that comes before its own marker comes back), clears what
is no longer open, and publishes what is missing or differs. One thread does everything, on a client of its own.

The agent's heartbeat stands there too, at ``layup-alerts/<yard>/agent``: the last beat, and ``{"gone": true}`` from
when the connection has ended, which the broker says as this client's will where it ended without leave.
"""

import logging
import threading
from collections.abc import Callable, Collection
from time import monotonic
from zoneinfo import ZoneInfo

from monitor.model.alert import Alert
from monitor.model.broker import BrokerAddress
from monitor.model.outbox import OpenAlerts
from monitor.model.vessel import Vessel
from monitor.notify.backoff import Backoff
from monitor.notify.broker_link import BrokerLink, LostError, Will
from monitor.notify.progress import Progress
from monitor.notify.retained import GONE, agent_topic, alert_payload, alert_topic
from monitor.notify.wall import wall_ms

log = logging.getLogger(__name__)

BACKOFF = Backoff(first_s=1.0, longest_s=60.0)
LOOK_EVERY_S = 0.25
LOOK_AGAIN_S = 60.0
STOP_WITHIN_S = 2.0
_NOT_YET = "not connected yet"


class AlertBoard:
    """Keeps the broker's retained alerts equal to the open ones.

    Args:
        broker: where they are retained; our name there is the agent's with ``-alerts`` after it.
        yard: whose alerts.
        alerts: where the open ones are asked for; what was put aside is open too, and stands with its state.
        zone: the yard's time zone.
        heartbeat: whether beats are retained beside them, with a will.
        backoff: waits while the broker is away.
        now_ms: the wall clock.

    Attributes:
        progress: messages published since the start, and what stands in the way.
    """

    def __init__(
        self,
        broker: BrokerAddress,
        yard: str,
        alerts: OpenAlerts,
        zone: ZoneInfo,
        *,
        heartbeat: bool = False,
        backoff: Backoff = BACKOFF,
        now_ms: Callable[[], int] = wall_ms,
    ) -> None:
        self.progress = Progress(failing=_NOT_YET)
        self._now_ms = now_ms
        self._beat: dict[str, bytes] = {}
        self._will = Will(agent_topic(yard), GONE) if heartbeat else None
        self._broker, self._yard, self._alerts, self._zone, self._backoff = broker, yard, alerts, zone, backoff
        self._wanted = _Wanted(alerts, yard, zone)
        self._link: BrokerLink | None = None
        self._changed = threading.Event()
        self._stopping = threading.Event()
        self._thread = threading.Thread(target=self._run, name="alerts", daemon=True)

    def start(self) -> None:
        """Start publishing."""
        self._changed.set()
        self._thread.start()

    def changed(self, _ids: Collection[str] = ()) -> None:
        """Say that alerts have changed; what is open is then read again. Cheap, from any thread."""
        self._changed.set()

    def beat(self, payload: bytes) -> None:
        """Have a beat retained. Cheap, from any thread; while the broker is away only the last one is kept."""
        self._beat = {agent_topic(self._yard): payload}

    def stop(self) -> None:
        """End within about two seconds. What is retained stays: alerts do not end with the agent."""
        self._stopping.set()
        self._thread.join(STOP_WITHIN_S)

    def _run(self) -> None:
        tries = 0
        while not self._stopping.is_set():
            self._link = link = BrokerLink(self._broker, self._yard, self._will)
            try:
                link.open(self._stopping.is_set)
                tries = 0
                self._mended()
                self._keep(link)
            except LostError as error:
                self._note(str(error))
            except Exception as error:  # the thread must outlive whatever it was
                log.exception("alerts cannot be published now")
                self._fails(repr(error))
            finally:
                link.close()
            tries += 1
            self._stopping.wait(self._backoff.after_s(tries, self._yard))

    def _keep(self, link: BrokerLink) -> None:
        """Publish what differs, as long as the connection lasts."""
        looked = -LOOK_AGAIN_S
        while not self._stopping.is_set():
            if monotonic() - looked >= (LOOK_EVERY_S if self._changed.is_set() else LOOK_AGAIN_S):
                self._changed.clear()
                self._wanted.read()
                looked = monotonic()
            self.progress.sent += link.bring_to(self._wanted.payloads | self._beat)
            link.turn()

    def _note(self, reason: str) -> None:
        if self._stopping.is_set():
            return
        if self.progress.failing in {"", _NOT_YET}:
            log.error("alerts cannot be published over MQTT: %s; the open ones follow when the broker is back", reason)
        self._fails(reason)

    def _fails(self, reason: str) -> None:
        if self.progress.failing_since_ms is None:
            self.progress.failing_since_ms = self._now_ms()
        self.progress.failing = reason

    def _mended(self) -> None:
        if self.progress.failing:
            log.info("alerts are published over MQTT")
        self.progress.failing, self.progress.failing_since_ms = "", None


class _Wanted:
    """What is to be retained: a payload by topic, written again only where its alert has changed."""

    def __init__(self, alerts: OpenAlerts, yard: str, zone: ZoneInfo) -> None:
        self.payloads: dict[str, bytes] = {}
        self._alerts, self._yard, self._zone = alerts, yard, zone
        self._from: dict[str, tuple[Alert, Vessel]] = {}

    def read(self) -> None:
        open_now = {alert_topic(self._yard, alert): (alert, vessel) for alert, vessel in self._alerts.open_alerts()}
        self.payloads = {
            topic: self.payloads[topic] if self._from.get(topic) == pair else alert_payload(*pair, self._zone)
            for topic, pair in open_now.items()
        }
        self._from = open_now
