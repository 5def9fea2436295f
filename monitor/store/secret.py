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
    if not path.exists():
        _make(path)
    return _read(path)


def _make(path: Path) -> None:
    """Give the file its name only once the secret is in it: a disk that is full must leave nothing half made."""
    part = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as file:
            file.write(secrets.token_bytes(SECRET_BYTES).hex().encode() + b"\n")
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)


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
