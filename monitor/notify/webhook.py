"""Webhooks: a signed POST of JSON, with the receiver's answers sorted as `monitor.notify.connection` has them.

A 2xx is taken. 410 says that the address is gone for good. What somebody has to mend first (a wrong login, a path that
is not there, a redirect, which is not followed) is tried for a day; a receiver that is away or in trouble for three.
"""

import ssl
from dataclasses import dataclass
from datetime import UTC
from email.utils import parsedate_to_datetime
from pathlib import Path
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from monitor.model.outbox import Waiting
from monitor.notify.connection import GoneError, NotNowError, RefusedError, UnreachableError
from monitor.notify.plain_hook import plain_hook
from monitor.notify.post import Answer, BadAddressError, NoAnswerError, Poster, trusting
from monitor.notify.public_address import NotPublicError, Resolve, resolve
from monitor.notify.signature import SigningSecret, signed_headers

DAY_S = 86_400.0
MENDED_WITHIN_S = DAY_S
BACK_WITHIN_S = 3 * DAY_S
LONGEST_RETRY_AFTER_S = 3_600.0
_GONE = 410
_SOMEBODY_MENDS = frozenset({401, 403, 404})
_COME_AGAIN = frozenset({408, 409, 425})
_TOO_MUCH = frozenset({429, 503})


class WebhookConfig(BaseModel):
    """How webhooks are signed and sent: the settings' table ``[webhook]``."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    secret: SigningSecret
    timeout_s: Annotated[float, Field(gt=0, le=60)] = 10.0
    allow_private: bool = False
    ca_file: Path | None = None


@dataclass(frozen=True, slots=True)
class WebhookMessage:
    """One webhook.

    Attributes:
        id: the notice's id, the same over retries.
        url: where it goes.
        at_ms: when it is tried (wall time, ms UTC).
        body: JSON (UTF-8).
    """

    id: str
    url: str
    at_ms: int
    body: bytes


class WebhookConnection:
    """Posts webhooks.

    Raises:
        UnreachableError: where the file of certificates cannot be used.
    """

    def __init__(self, config: WebhookConfig, resolver: Resolve = resolve) -> None:
        self._secret = config.secret
        try:
            context: ssl.SSLContext = trusting(config.ca_file)
        except OSError as error:
            raise UnreachableError(f"{config.ca_file} cannot be used: {error}") from error
        self._poster = Poster(context, config.timeout_s, allow_private=config.allow_private, resolver=resolver)

    def plain(self, waiting: Waiting, at_ms: int) -> WebhookMessage:
        """Write a notice in plain words."""
        return WebhookMessage(waiting.notice.id, waiting.notice.address, at_ms, plain_hook(waiting))

    def send(self, message: WebhookMessage) -> None:
        """Post a webhook."""
        headers = {
            "Content-Type": "application/json",
            "User-Agent": "coldberth",
            **signed_headers(self._secret, message.id, message.at_ms // 1000, message.body),
        }
        try:
            answer = self._poster.post(message.url, headers, message.body)
        except BadAddressError as error:
            raise RefusedError(str(error)) from error
        except NotPublicError as error:
            # A name server in trouble may answer so for an hour, and a setting may be mended.
            raise UnreachableError(str(error), MENDED_WITHIN_S) from error
        except NoAnswerError as error:
            raise UnreachableError(str(error), BACK_WITHIN_S) from error
        judge(answer, message.at_ms)

    def close(self) -> None:
        """Let go of everything."""
        self._poster.close()

    def abort(self) -> None:
        """Cut the line, from any thread."""
        self._poster.abort()


def judge(answer: Answer, now_ms: int) -> None:
    """Sort a receiver's answer: nothing happens where the message was taken.

    Raises:
        GoneError: 410.
        RefusedError: it will never be taken.
        NotNowError: it may be taken later.
        UnreachableError: nothing will be taken just now.
    """
    status, text = answer.status, f"the receiver answers {answer.status}"
    if 200 <= status < 300:  # noqa: PLR2004 - HTTP's own classes
        return
    if status == _GONE:
        raise GoneError(f"{text}: the address is gone for good")
    if status in _TOO_MUCH:
        raise UnreachableError(text, BACK_WITHIN_S, retry_after_s(answer.retry_after, now_ms))
    if status in _SOMEBODY_MENDS:
        raise UnreachableError(text, MENDED_WITHIN_S)
    if 300 <= status < 400:  # noqa: PLR2004
        raise UnreachableError(f"{text}, which leads elsewhere and is not followed", MENDED_WITHIN_S)
    if status in _COME_AGAIN or status >= 500:  # noqa: PLR2004
        raise NotNowError(text, BACK_WITHIN_S)
    raise RefusedError(text)


def retry_after_s(said: str | None, now_ms: int) -> float:
    """Give for how long a receiver wants to be left alone (RFC 9110, seconds or a date), an hour at most.

    >>> retry_after_s("120", 0), retry_after_s("soon", 0), retry_after_s("Thu, 01 Jan 1970 00:01:00 GMT", 0)
    (120.0, 0.0, 60.0)
    """
    if said is None:
        return 0.0
    try:
        if said.strip().isdecimal():
            wait_s = float(said)
        else:
            at = parsedate_to_datetime(said)
            wait_s = at.replace(tzinfo=at.tzinfo or UTC).timestamp() - now_ms / 1000
    except (ValueError, OverflowError):
        return 0.0
    return min(max(wait_s, 0.0), LONGEST_RETRY_AFTER_S)
