"""Phone and message services: the apprise library, by a URL for each.

The library answers yes or no and logs why; what it logs is caught here for the error's text, with every piece of the
URL taken out, and goes nowhere else: keys stand anywhere in these URLs. Services on the yard's own network are allowed:
the URLs are the yard's own settings.
"""

import logging
import re
import threading
from dataclasses import dataclass
from typing import Annotated
from urllib.parse import unquote

from apprise import Apprise, AppriseAsset, NotifyFormat
from pydantic import BaseModel, ConfigDict, Field

from monitor.model.people import ChannelKind
from monitor.model.shown_address import shown_address
from monitor.notify.connection import RefusedError, UnreachableError
from monitor.notify.quiet import keep_addresses_out_of_the_log

BACK_WITHIN_S = 3 * 86_400.0
# Shorter pieces of a URL are words such as a port or a country, and are left in a reason.
SHORTEST_SECRET = 4
LONGEST_REASON = 200
# What one call logs must not be taken for another's, whose URL alone would be taken out of it.
_ONE_AT_ONCE = threading.Lock()
_PIECES = re.compile(r"[/:@?&=+,;#!]+")


class ServiceConfig(BaseModel):
    """How long a service may take: the settings' table ``[service]``."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    timeout_s: Annotated[float, Field(gt=0, le=300)] = 30.0


@dataclass(frozen=True, slots=True)
class ServiceMessage:
    """One message to a service: its URL, a title and a body in plain text."""

    url: str
    title: str
    body: str


class ServiceConnection:
    """Hands messages to services.

    The library's own call cannot be ended from outside, so it is made on a thread of its own, which is waited for no
    longer than is allowed. Where it then goes on, the message may come twice; no other is begun until it has ended.
    """

    def __init__(self, config: ServiceConfig) -> None:
        keep_addresses_out_of_the_log()
        self._timeout_s = config.timeout_s
        self._done = threading.Event()

    def send(self, message: ServiceMessage) -> None:
        """Hand a message over."""
        if not _ONE_AT_ONCE.acquire(blocking=False):
            raise UnreachableError("an earlier message is still under way", BACK_WITHIN_S)
        self._done.clear()
        call = _Call(message, self._done)
        threading.Thread(target=call.run, name="service call", daemon=True).start()
        self._done.wait(self._timeout_s)
        if not call.ended:
            raise UnreachableError(f"no answer within {self._timeout_s:.0f} s", BACK_WITHIN_S)
        if not call.known:
            shown = shown_address(ChannelKind.SERVICE.value, message.url)
            raise RefusedError(f"{shown} is not an address of a known service, or part of it is missing{call.said}")
        if not call.taken:
            raise UnreachableError(f"the service did not take it{call.said}", BACK_WITHIN_S)

    def close(self) -> None:
        """Nothing is kept open."""

    def abort(self) -> None:
        """End the wait, from any thread."""
        self._done.set()


class _Call:
    """One call of the library, and what came of it."""

    def __init__(self, message: ServiceMessage, done: threading.Event) -> None:
        self.known, self.taken, self.ended = True, False, False
        self.said = ""
        self._message, self._done = message, done

    def run(self) -> None:
        lines = _Lines()
        services = logging.getLogger("apprise")
        services.addHandler(lines)
        try:
            self._call()
        except Exception as error:  # noqa: BLE001 - a hundred plug-ins; whatever it was, the message was not taken
            lines.said.append(f"{type(error).__name__}: {error}")
        finally:
            services.removeHandler(lines)
            self.said = self._without_secrets(lines.said)
            self.ended = True
            _ONE_AT_ONCE.release()
            self._done.set()

    def _call(self) -> None:
        # Sequential, so that the call stays on this thread.
        caller = Apprise(asset=AppriseAsset(async_mode=False, secure_logging=True))
        self.known = bool(caller.add(self._message.url))
        if self.known:
            self.taken = bool(
                caller.notify(body=self._message.body, title=self._message.title, body_format=NotifyFormat.TEXT)
            )

    def _without_secrets(self, lines: list[str]) -> str:
        text = " ".join(line.strip() for line in lines)
        _, _, after_scheme = self._message.url.partition("://")
        pieces = {self._message.url, after_scheme, *_PIECES.split(after_scheme)}
        pieces |= {unquote(piece) for piece in pieces}
        for piece in sorted(pieces, key=len, reverse=True):
            if len(piece) >= SHORTEST_SECRET:
                text = re.sub(re.escape(piece), "...", text, flags=re.IGNORECASE)
        text = " ".join(text.split())[:LONGEST_REASON]
        return f": {text}" if text else ""


class _Lines(logging.Handler):
    """Keeps what is logged. The library logs on threads of its own; making one call at once keeps them apart."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.said: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.said.append(record.getMessage())
