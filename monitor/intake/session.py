"""The MQTT session: one thread that connects, reads, hands parcels on, and acknowledges what has been committed.

paho's own network thread ends silently at an exception in a callback and still says that it is connected. So the
thread is ours: it drives paho by its calls for other people's event loops, and whatever goes wrong ends in a
reconnect, after which the broker brings again what was not acknowledged.
"""

import logging
import secrets
import select
import socket
import threading
from collections import Counter
from collections.abc import Callable, Iterable
from contextlib import suppress
from time import monotonic

from monitor.intake.broker import BrokerConfig, Protocol, connect
from monitor.intake.held import held_bytes
from monitor.intake.link import UNSUPPORTED, Link
from monitor.intake.reader import Reader
from monitor.model.parcel import Parcel

log = logging.getLogger(__name__)

MOST_WAITING = 20_000  # parcels of one reading: some 12 MB; beyond it nothing more is read
MOST_HELD_BYTES = 32 * 1024 * 1024  # nor beyond this, as a parcel may be a pack of thousands
FIRST_DELAY_S = 1.0
LONGEST_DELAY_S = 30.0
LASTING_S = 60.0  # a connection that lasted so long was a good one: the next delay is the first again
CONNACK_WITHIN_S = 10.0
FAREWELL_S = 5.0  # a busy broker takes its time, and closing on it loses acknowledgements it has not read


def _nobody_waits() -> int:
    return 0


class Session:
    """Listens for one yard.

    Every method may be called from any thread. Whoever takes the parcels gives all of them to `ack` once they are
    committed, in the order they came. What bounds the parcels held in memory: with MQTT 5 the broker stops at 4,000
    that are not acknowledged; with 3.1.1 at its own limit (Mosquitto: `max_inflight_messages`); and in any case,
    messages of QoS 0 too, the session stops reading while `backlog` says that 20,000 wait, or while those that were not
    given back to `ack` hold 32 MiB.

    Args:
        config: the broker.
        reader: makes parcels of messages.
        deliver: takes each parcel, on the network thread; it must not wait for long.
        backlog: how many delivered parcels still wait to be committed, such as the `qsize` of a queue.
    """

    def __init__(
        self,
        config: BrokerConfig,
        reader: Reader,
        deliver: Callable[[Parcel], None],
        backlog: Callable[[], int] = _nobody_waits,
    ) -> None:
        self.errors: Counter[str] = Counter()  # errors of our own while taking messages in, by cause
        self._config = config
        self._reader = reader
        self._deliver = deliver
        self._backlog = backlog
        # Each is changed by one thread only: the network's, and that of whoever acknowledges.
        self._delivered_bytes = self._committed_bytes = 0
        self._last_trouble: str | None = None
        self._process = secrets.token_hex(8)
        self._protocol: Protocol = "3.1.1" if config.protocol == "3.1.1" else "5"
        self._number = 0
        self._delay_s = FIRST_DELAY_S
        self._link: Link | None = None
        self._lock = threading.Lock()
        self._stopping = threading.Event()
        self._paused = False
        self._dropping: str | None = None
        self._acked = False
        self._was_accepted = False
        self._waker, self._wakened = socket.socketpair()
        self._waker.settimeout(0)
        self._wakened.settimeout(0)
        self._thread: threading.Thread | None = None

    def start(self) -> None:
        """Start listening. It goes on trying for as long as it is not stopped."""
        self._thread = threading.Thread(target=self._run, name="mqtt", daemon=True)
        self._thread.start()

    def pause(self) -> None:
        """Read nothing more, and go on acknowledging: the first half of a clean stop."""
        self._paused = True
        self._wake()

    def stop(self) -> None:
        """Say *stopped*, and disconnect. What is not acknowledged by now comes again after the next start."""
        self._stopping.set()
        self._wake()
        if self._thread is not None:
            self._thread.join(CONNACK_WITHIN_S + FAREWELL_S)
        self._waker.close()
        self._wakened.close()

    def ack(self, parcels: Iterable[Parcel]) -> None:
        """Acknowledge parcels that have been committed, in their order. Those of an earlier connection come again."""
        with self._lock:
            link = self._link
            for parcel in parcels:
                self._committed_bytes += parcel.held_bytes
                if link is None:
                    continue
                if parcel.qos and parcel.session == link.number:
                    link.ack(parcel)
                    self._acked = True
        self._wake()

    def drop(self, reason: str) -> None:
        """Disconnect, wait, and connect again: the only way to have a broker send again what is not acknowledged."""
        self._dropping = reason
        self._wake()

    @property
    def session(self) -> int:
        """Number of the latest connection."""
        return self._number

    @property
    def nonce(self) -> str:
        """What stands in the marker of the latest connection."""
        return f"{self._process}-{self._number}"

    @property
    def protocol(self) -> Protocol:
        """Which MQTT is spoken, or tried next."""
        return self._protocol

    @property
    def connected(self) -> bool:
        """Whether the broker has let us in."""
        link = self._link
        return link is not None and link.accepted

    @property
    def caught_up(self) -> bool:
        """Whether this connection's marker came back, so that all that was queued before it has been delivered."""
        link = self._link
        return link is not None and link.caught_up

    @property
    def trouble(self) -> str | None:
        """Why there is no connection, or what is wrong with it, in words; None where all is well."""
        link = self._link
        return (link.trouble if link is not None else None) or self._last_trouble

    @property
    def alive(self) -> bool:
        """Whether the network thread runs."""
        return self._thread is not None and self._thread.is_alive()

    @property
    def held_bytes(self) -> int:
        """About how much memory the parcels hold that are not committed yet."""
        return self._delivered_bytes - self._committed_bytes

    def check(self) -> bool:
        """Tell whether all is well with the network thread, and start it again where it has died."""
        if self.alive or self._stopping.is_set():
            return True
        log.error("the network thread has died; it is started again")
        self.start()
        return False

    def _run(self) -> None:
        while not self._stopping.is_set():
            began = monotonic()
            self._acked = False
            link = None
            try:
                link = self._open()
                self._serve(link)
            except OSError as error:
                self._say(f"no connection to {self._config.host}:{self._config.port}: {error}")
            except Exception as error:
                self.errors[f"{type(error).__name__} in the session"] += 1
                log.exception("the connection is given up and made again")
                self._say(f"an error of our own: {error}")
            finally:
                self._close(link)
            if self._stopping.is_set() or (link is not None and self._falls_back(link)):
                continue
            if self._acked or monotonic() - began > LASTING_S:
                self._delay_s = FIRST_DELAY_S
            # Jitter: many agents that lost one broker do not come back all at once.
            self._stopping.wait(self._delay_s * secrets.SystemRandom().uniform(0.5, 1.0))
            self._delay_s = min(2 * self._delay_s, LONGEST_DELAY_S)

    def _open(self) -> Link:
        self._number += 1
        link = Link(self._config, self._protocol, self._number, self.nonce, self._reader, self._hand_on, self.errors)
        try:
            connect(link.client, self._config, self._protocol)
        except OSError:
            if self._config.protocol == "auto":
                self._protocol = "5"  # nobody is there: what is there next may know it
            raise
        with self._lock:
            self._dropping = None
            self._link = link
        return link

    def _hand_on(self, parcel: Parcel) -> None:
        parcel.held_bytes = held_bytes(parcel)
        self._delivered_bytes += parcel.held_bytes
        self._deliver(parcel)

    def _serve(self, link: Link) -> None:
        began = monotonic()
        while link.open and not self._stopping.is_set() and self._dropping is None:
            was_accepted = link.accepted
            # Until CONNECT is answered always read: nothing but the answer can come.
            room = not self._paused and self._backlog() < MOST_WAITING and self.held_bytes < MOST_HELD_BYTES
            self._turn(link, reading=room or not link.answered)
            if link.accepted and not was_accepted:
                self._welcome(link)
            if not link.answered and monotonic() - began > CONNACK_WITHIN_S:
                link.trouble = "the broker does not answer CONNECT"
                break

    def _turn(self, link: Link, *, reading: bool) -> None:
        """Wait for the socket or for a call from another thread, then read what there is and write what is queued."""
        sock = link.client.wire
        if sock is None:
            return
        poll = select.poll()
        poll.register(self._wakened, select.POLLIN)
        poll.register(sock.fileno(), reading * select.POLLIN | link.wants_write * select.POLLOUT)
        decrypted = reading and sock.pending() > 0
        events = dict(poll.poll(0 if decrypted else 1000 if reading else 50))
        if events.get(self._wakened.fileno()):
            with suppress(BlockingIOError):
                self._wakened.recv(4096)
        event = events.get(sock.fileno(), 0)
        if event & (select.POLLHUP | select.POLLERR) and not reading:
            raise ConnectionError("the broker closed the connection while nothing was read")
        if decrypted or event & (select.POLLIN | select.POLLHUP | select.POLLERR):
            link.read()
        if link.wants_write:
            link.write()
        link.keep_alive()

    def _welcome(self, link: Link) -> None:
        log.info("listening at %s:%d by MQTT %s", self._config.host, self._config.port, link.protocol)
        if self._was_accepted and not link.kept:
            log.warning("the broker has not kept our session: what was sent while we were away may be lost")
        elif not link.kept:
            log.info("the broker had no session of ours: unless this is the first start, what came meanwhile is lost")
        self._last_trouble = None
        self._was_accepted = True

    def _close(self, link: Link | None) -> None:
        with self._lock:
            self._link = None
        if link is None:
            return
        reason, self._dropping = self._dropping, None
        if link.accepted and link.open:
            with suppress(OSError):
                self._farewell(link, reason)
        link.close()
        if not self._stopping.is_set():
            self._say(link.trouble or "the connection was given up" if reason is None else f"dropped: {reason}")

    def _farewell(self, link: Link, reason: str | None) -> None:
        """Leave in good order. DISCONNECT takes the will back, so the state is told first, and heard."""
        until = monotonic() + FAREWELL_S
        told = link.take_leave("stopped") if self._stopping.is_set() else link.take_leave("gone", reason=reason or "")
        while link.open and not told.is_published() and monotonic() < until:
            self._turn(link, reading=True)
        link.client.disconnect()
        while link.open and monotonic() < until:
            self._turn(link, reading=True)

    def _falls_back(self, link: Link) -> bool:
        """Choose the other MQTT where the broker did not take this one; tell whether to try it at once.

        Some brokers say that they do not know MQTT 5, others close the connection on its CONNECT or never answer.
        """
        refused = UNSUPPORTED in (link.trouble or "")
        if self._config.protocol != "auto" or link.accepted or (link.answered and not refused):
            return False
        self._protocol = "3.1.1" if link.protocol == "5" else "5"
        return self._protocol == "3.1.1"

    def _say(self, trouble: str) -> None:
        if trouble != self._last_trouble:
            log.warning("%s; it is tried again", trouble)
        self._last_trouble = trouble

    def _wake(self) -> None:
        with suppress(OSError):  # full of calls already, or closed
            self._waker.send(b"\0")
