"""Phone and message services: the apprise library, by a URL for each.

The library answers yes or no and logs why; what it logs is caught for the error's text, with every piece of the URL
taken out, and goes nowhere else: keys stand anywhere in these URLs. Services on the yard's own network are allowed:
the URLs are the yard's own settings.
"""

import json
import os
import re
import subprocess
import sys
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Annotated
from urllib.parse import unquote

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter

from monitor.messages.plain import one_line
from monitor.model.outbox import Waiting
from monitor.model.people import ChannelKind
from monitor.model.shown_address import shown_address
from monitor.notify.called_environment import called_environment
from monitor.notify.connection import RefusedError, UnreachableError
from monitor.notify.plain_words import plain_words

BACK_WITHIN_S = 3 * 86_400.0
# Shorter pieces of a URL are words such as a port or a country, and are left in a reason.
SHORTEST_SECRET = 4
LONGEST_REASON = 200
LONGEST_PLAIN_TITLE = 100
LONGEST_PLAIN_BODY = 900
_PIECES = re.compile(r"[/:@?&=+,;#!]+")
_CALL = (sys.executable, "-m", "monitor.notify.service_call")


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


@dataclass(frozen=True, slots=True)
class ServiceAnswer:
    """What came of it.

    Attributes:
        known: whether the URL is one of a known service.
        taken: whether the service took the message.
        said: what the library logged; pieces of the URL may stand in it.
    """

    known: bool
    taken: bool
    said: tuple[str, ...]


_answer = TypeAdapter(ServiceAnswer)


class ServiceConnection:
    """Hands messages to services.

    The library's own call cannot be ended from outside, so each is a process of its own, which is ended where it takes
    longer than is allowed. The message may have gone out by then, and come twice.
    """

    def __init__(self, config: ServiceConfig) -> None:
        self._timeout_s = config.timeout_s
        self._calling: subprocess.Popen[bytes] | None = None

    def plain(self, waiting: Waiting, at_ms: int) -> ServiceMessage:  # noqa: ARG002 - a service dates it itself
        """Write a notice in plain words."""
        words = plain_words(waiting)
        body = words.body if len(words.body) <= LONGEST_PLAIN_BODY else f"{words.body[: LONGEST_PLAIN_BODY - 1]}…"
        return ServiceMessage(waiting.notice.address, one_line(words.title, LONGEST_PLAIN_TITLE), body)

    def send(self, message: ServiceMessage) -> None:
        """Hand a message over."""
        try:
            answer = self._call(message)
        except OSError as error:
            # Of the machine, and not of the message: no memory, or too many open files.
            raise UnreachableError(f"the call cannot be made: {error.strerror}", BACK_WITHIN_S) from error
        except (ValueError, TypeError) as error:
            # Whether it was taken is not known: it may come twice.
            raise UnreachableError("the call ended with an answer that cannot be read", BACK_WITHIN_S) from error
        why = _without_secrets(message.url, answer.said)
        if not answer.known:
            shown = shown_address(ChannelKind.SERVICE.value, message.url)
            raise RefusedError(f"{shown} is not an address of a known service, or part of it is missing{why}")
        if not answer.taken:
            raise UnreachableError(f"the service did not take it{why}", BACK_WITHIN_S)

    def _call(self, message: ServiceMessage) -> ServiceAnswer:
        asked = json.dumps(asdict(message)).encode()
        pipe, nowhere, around = subprocess.PIPE, subprocess.DEVNULL, called_environment(os.environ)
        with subprocess.Popen(_CALL, stdin=pipe, stdout=pipe, stderr=nowhere, env=around) as calling:  # noqa: S603 - our own module, with none of the message in its arguments
            self._calling = calling
            try:
                said, _ = calling.communicate(asked, self._timeout_s)
            except subprocess.TimeoutExpired:
                raise UnreachableError(f"no answer within {self._timeout_s:.0f} s", BACK_WITHIN_S) from None
            finally:
                calling.kill()
                self._calling = None
        if calling.returncode != 0:
            raise UnreachableError(f"the call ended without an answer (status {calling.returncode})", BACK_WITHIN_S)
        return _answer.validate_json(said)

    def close(self) -> None:
        """Nothing is kept open."""

    def abort(self) -> None:
        """End the call that is under way, from any thread."""
        calling = self._calling
        if calling is not None:
            calling.kill()


def _without_secrets(url: str, lines: Iterable[str]) -> str:
    text = " ".join(line.strip() for line in lines)
    _, _, after_scheme = url.partition("://")
    pieces = {url, after_scheme, *_PIECES.split(after_scheme)}
    pieces |= {unquote(piece) for piece in pieces}
    for piece in sorted(pieces, key=len, reverse=True):
        if len(piece) >= SHORTEST_SECRET:
            text = re.sub(re.escape(piece), "...", text, flags=re.IGNORECASE)
    text = " ".join(text.split())[:LONGEST_REASON]
    return f": {text}" if text else ""
