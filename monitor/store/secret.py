"""The secret that links are signed with: made once beside the journal, readable by nobody else."""

import os
import secrets
from pathlib import Path

SECRET_BYTES = 32


class SecretFileError(Exception):
    """A secret that cannot be used. Its text says which file, why, and what to do."""


def read_or_make_secret(path: Path) -> bytes:
    """Give the secret in a file; make it, with a new secret, where there is none.

    A backup of the journal without it loses nothing but the links in messages that were sent already.

    Raises:
        SecretFileError: where the file holds something else.
        OSError: where it can be neither read nor written.
    """
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return _read(path)
    made = secrets.token_bytes(SECRET_BYTES)
    with os.fdopen(handle, "wb") as file:
        file.write(made.hex().encode() + b"\n")
        file.flush()
        os.fsync(file.fileno())
    return made


def _read(path: Path) -> bytes:
    text = path.read_bytes().strip()
    try:
        secret = bytes.fromhex(text.decode("ascii"))
    except ValueError:
        secret = b""
    if len(secret) != SECRET_BYTES:
        raise SecretFileError(
            f"{path}: holds no secret of {SECRET_BYTES} bytes in hexadecimal; remove it, and a new one is made:"
            " links in messages that were sent already then no longer work"
        )
    return secret
