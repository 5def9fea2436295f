"""The agent's heartbeat: a dead man's switch, so that somebody outside notices when the agent itself is gone.

Every ``every_s`` seconds one beat goes out, as a POST and retained over MQTT, with what the watch has come to. It goes
out only while the agent's loop turns and the journal can be written: an agent that hangs, or whose disk is full, falls
silent as one does that has no power. Beats are not queued: a late one would say what is no longer so.

What the outside party should do:

- Stand elsewhere, on other power and another network, and be able to ring the yard's manager without either.
- POST: raise the alarm where no beat has come for three times ``every_s``; believe one only if its signature holds and
  its ``at`` is newer than the last (``webhook-id`` is never used twice). Answer 2xx.
- MQTT, ``layup-alerts/<yard>/agent``, retained: raise the alarm on ``{"gone": true}`` that stands for as long, and on
  an ``at`` older than that by its own clock. A retained message alone proves nothing: it may be of yesterday.
- Read ``troubles``: the agent lives, and says itself what it cannot do. An empty list is no promise that every boat is
  heard; that is what its alerts are for.
"""

import json
import logging
import threading
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Self

from pydantic import BaseModel, ConfigDict, Field, SecretStr, model_validator

from monitor.notify.post import BadAddressError, NoAnswerError, Poster, trusting
from monitor.notify.progress import Progress
from monitor.notify.public_address import NotPublicError, Resolve, resolve
from monitor.notify.retained import iso_utc
from monitor.notify.signature import SigningSecret, signed_headers
from monitor.notify.wall import wall_ms

log = logging.getLogger(__name__)

RETRY_S = 30.0
STOP_WITHIN_S = 1.5


class HeartbeatConfig(BaseModel):
    """Where the heartbeat goes: the settings' table ``[heartbeat]``. The URL is a secret, as many such URLs are."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    url: SecretStr | None = None
    secret: SigningSecret | None = None
    every_s: Annotated[float, Field(gt=0, le=86_400)] = 300.0
    mqtt: bool = True
    allow_private: bool = False
    timeout_s: Annotated[float, Field(gt=0, le=60)] = 10.0
    ca_file: Path | None = None

    @model_validator(mode="after")
    def _holds_together(self) -> Self:
        if self.url is None and self.secret is not None:
            raise ValueError("a secret signs what is posted, and there is no url to post to")
        return self


@dataclass(frozen=True, slots=True)
class Pulse:
    """What a beat says.

    Attributes:
        seq: seq of the last input that was committed.
        stored_ms: when something was last committed (wall time, ms UTC), None where nothing was yet.
        troubles: what is wrong with the watch itself, one plain sentence each.
    """

    seq: int
    stored_ms: int | None
    troubles: tuple[str, ...] = ()


class Heartbeat:
    """Sends the beats.

    Args:
        config: where to and how often.
        yard: whose.
        pulse: gives what to say; None where the loop does not turn or the journal cannot be written, and then no beat
            goes out.
        retain: has a beat retained over MQTT (`AlertBoard.beat`); used where ``config.mqtt``.
        now_ms: the wall clock.
        resolver: looks names up.

    Attributes:
        progress: beats taken by the receiver, and why it takes none.
        beaten_ms: when the last beat was made, None before the first.
    """

    def __init__(
        self,
        config: HeartbeatConfig,
        yard: str,
        pulse: Callable[[], Pulse | None],
        retain: Callable[[bytes], None],
        *,
        now_ms: Callable[[], int] = wall_ms,
        resolver: Resolve = resolve,
    ) -> None:
        self.progress = Progress()
        self.beaten_ms: int | None = None
        self._config, self._yard, self._pulse, self._retain = config, yard, pulse, retain
        self._now_ms, self._resolver = now_ms, resolver
        self._poster: Poster | None = None
        self._stopping = threading.Event()
        self._thread = threading.Thread(target=self._run, name="heartbeat", daemon=True)

    def start(self) -> None:
        """Start beating."""
        self._thread.start()

    def stop(self) -> None:
        """End within about two seconds."""
        self._stopping.set()
        poster = self._poster
        if poster is not None:
            poster.abort()
        self._thread.join(STOP_WITHIN_S)

    def _run(self) -> None:
        pause_s = 0.0
        while not self._stopping.wait(pause_s):
            try:
                pause_s = self._config.every_s if self._beat() else min(self._config.every_s, RETRY_S)
            except Exception:  # the thread must outlive whatever it was; no beat went out, which says enough outside
                log.exception("no heartbeat was sent")
                pause_s = min(self._config.every_s, RETRY_S)

    def _beat(self) -> bool:
        """Send one beat; say whether it is well."""
        pulse = self._pulse()
        if pulse is None:
            log.error("no heartbeat is sent: the agent's loop does not turn, or its journal cannot be written")
            return False
        self.beaten_ms = at_ms = self._now_ms()
        body = {
            "yard": self._yard,
            "at": iso_utc(at_ms),
            "every_s": self._config.every_s,
            "seq": pulse.seq,
            "stored": iso_utc(pulse.stored_ms),
            "troubles": list(pulse.troubles),
        }
        payload = json.dumps(body, ensure_ascii=False, separators=(",", ":")).encode()
        if self._config.mqtt:
            self._retain(payload)
        return self._config.url is None or self._post(self._config.url.get_secret_value(), at_ms, payload)

    def _post(self, url: str, at_ms: int, payload: bytes) -> bool:
        config = self._config
        headers = {"Content-Type": "application/json", "User-Agent": "coldberth"}
        if config.secret is not None:
            headers |= signed_headers(config.secret, f"beat-{self._yard}-{at_ms}", at_ms // 1000, payload)
        try:
            poster = Poster(
                trusting(config.ca_file), config.timeout_s, allow_private=config.allow_private, resolver=self._resolver
            )
        except OSError as error:
            return self._fails(f"{config.ca_file} cannot be used: {error}")
        self._poster = poster
        try:
            status = poster.post(url, headers, payload).status
        except (BadAddressError, NotPublicError, NoAnswerError) as error:
            return self._fails(str(error))
        finally:
            self._poster = None
            poster.close()
        return self._taken() if 200 <= status < 300 else self._fails(f"the receiver answers {status}")  # noqa: PLR2004

    def _taken(self) -> bool:
        if self.progress.failing:
            log.warning("the heartbeat is taken again")
        self.progress.sent += 1
        self.progress.failing, self.progress.failing_since_ms = "", None
        return True

    def _fails(self, reason: str) -> bool:
        if self._stopping.is_set():
            return False
        if not self.progress.failing:
            self.progress.failing_since_ms = self._now_ms()
            log.error("the heartbeat is not taken: %s", reason)
        self.progress.failing = reason
        return False
