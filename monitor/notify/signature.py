"""The signature of Standard Webhooks (https://github.com/standard-webhooks/standard-webhooks), symmetric form ``v1``.

A receiver that knows the secret can tell that the body is ours, unchanged and new: the id stays the same over retries,
so that it can leave out what it has had before, and the time is that of the try.
"""

import base64
import binascii
import hashlib
import hmac
from typing import Annotated

from pydantic import AfterValidator, SecretStr

PREFIX = "whsec_"
# The specification asks for 24 to 64 bytes.
SHORTEST_BYTES, LONGEST_BYTES = 24, 64


def secret_bytes(secret: SecretStr) -> bytes:
    """Give the key that a secret stands for.

    Raises:
        ValueError: where it is none; the text does not repeat it.
    """
    text = secret.get_secret_value()
    try:
        key = base64.b64decode(text.removeprefix(PREFIX), validate=True)
    except (binascii.Error, ValueError):
        key = b""
    if not text.startswith(PREFIX) or not SHORTEST_BYTES <= len(key) <= LONGEST_BYTES:
        raise ValueError(
            f"must be '{PREFIX}' and then {SHORTEST_BYTES} to {LONGEST_BYTES} bytes in base64, such as printed by"
            f" echo {PREFIX}$(openssl rand -base64 32)"
        )
    return key


def _is_a_secret(secret: SecretStr) -> SecretStr:
    secret_bytes(secret)
    return secret


SigningSecret = Annotated[SecretStr, AfterValidator(_is_a_secret)]


def signed_headers(secret: SecretStr, message_id: str, at_s: int, body: bytes) -> dict[str, str]:
    """Give the headers that sign a body, tried at a time (s UTC)."""
    signed = f"{message_id}.{at_s}.".encode() + body
    digest = hmac.new(secret_bytes(secret), signed, hashlib.sha256).digest()
    return {
        "webhook-id": message_id,
        "webhook-timestamp": str(at_s),
        "webhook-signature": f"v1,{base64.b64encode(digest).decode()}",
    }
