"""Signed links: whoever holds one was sent it. That a link is used once only is the journal's to know."""

import hashlib
import re
from collections.abc import Callable
from ipaddress import ip_address
from urllib.parse import urlsplit

from itsdangerous import BadSignature, SignatureExpired, TimestampSigner

SALT = b"coldberth acknowledge"
NOT_OURS = "This link is not one of ours, or has been cut short."
SHORTEST_SECRET_BYTES = 16
_TOKEN = re.compile(r"[A-Za-z0-9._-]{1,500}")
LINK_AGE_S = 30 * 24 * 3600


class LinkError(ValueError):
    """A link that is not taken, with a reason that its reader can be shown."""


def can_be_opened_elsewhere(address: str) -> bool:
    """Whether an address leads to the pages from another machine than the one that serves them.

    >>> can_be_opened_elsewhere("http://10.0.0.5:8080"), can_be_opened_elsewhere("http://127.0.0.1:8080")
    (True, False)
    >>> can_be_opened_elsewhere("http://0.0.0.0:8080"), can_be_opened_elsewhere("")
    (False, False)
    """
    host = urlsplit(address).hostname or ""
    try:
        at = ip_address(host)
    except ValueError:  # a name
        return host not in {"", "localhost"} and not host.endswith(".localhost")
    return not (at.is_loopback or at.is_unspecified)


class _Signer(TimestampSigner):
    def __init__(self, secret: bytes, now_s: Callable[[], int] | None) -> None:
        super().__init__(secret, salt=SALT, key_derivation="hmac", digest_method=hashlib.sha256)
        self._now_s = now_s

    def get_timestamp(self) -> int:
        return super().get_timestamp() if self._now_s is None else self._now_s()


class LinkSigner:
    """Signs the ids of notices, and reads them again.

    Args:
        secret: at least 16 bytes that nobody else knows.
        now_s: the wall clock, seconds since 1970; the signing library's own where none is given.

    Raises:
        ValueError: where the secret is too short.
    """

    def __init__(self, secret: bytes, now_s: Callable[[], int] | None = None) -> None:
        if len(secret) < SHORTEST_SECRET_BYTES:
            raise ValueError(
                f"a secret of {len(secret)} bytes signs nothing: it needs {SHORTEST_SECRET_BYTES} random bytes or more"
            )
        self._signer = _Signer(secret, now_s)

    def sign(self, notice_id: str) -> str:
        """Give the token of a notice: letters, digits, dots, hyphens and underscores, fit to stand in an address."""
        return self._signer.sign(notice_id).decode("ascii")

    def read(self, token: str, max_age_s: int = LINK_AGE_S) -> str:
        """Give the id of the notice that a token was made for.

        Raises:
            LinkError: where it was not made here, or is too old.
        """
        if _TOKEN.fullmatch(token) is None:
            raise LinkError(NOT_OURS)
        try:
            return self._signer.unsign(token, max_age=max_age_s).decode("ascii")
        except SignatureExpired as error:
            if error.date_signed is not None and self._signer.get_timestamp() < error.date_signed.timestamp():
                raise LinkError("This link is of a time that has not come: the yard's clock was put back.") from error
            days = max_age_s // 86_400
            raise LinkError(f"This link is more than {days} days old. Go by the alert's own page.") from error
        except BadSignature as error:
            raise LinkError(NOT_OURS) from error
