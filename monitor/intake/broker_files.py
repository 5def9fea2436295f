"""The broker's password file and access file: users put in and taken out, everything else left as it stands."""

import os
import shutil
from pathlib import Path

from monitor.intake.credentials import Credential

PASSWORDS = "passwords"
ACCESS = "access"
NEW_MODE = 0o640


def put_in(folder: Path, credential: Credential) -> None:
    """Put a user into both files of a folder, in place of what stood there of the same name.

    Raises:
        OSError: where they cannot be written.
    """
    others = [line for line in _lines(folder / PASSWORDS) if not _is_of(line, credential.user)]
    _write(folder / PASSWORDS, [*others, credential.password_line])
    kept = _without(_lines(folder / ACCESS), credential.user)
    _write(folder / ACCESS, [*kept, *credential.access_lines])


def take_out(folder: Path, user: str) -> bool:
    """Take a user out of both files of a folder; say whether there was one.

    Raises:
        OSError: where they cannot be written.
    """
    before, access = _lines(folder / PASSWORDS), _lines(folder / ACCESS)
    left = [line for line in before if not _is_of(line, user)]
    kept = _without(access, user)
    if left == before and kept == access:
        return False
    _write(folder / PASSWORDS, left)
    _write(folder / ACCESS, kept)
    return True


def _is_of(line: str, user: str) -> bool:
    return line.partition(":")[0] == user


def _without(lines: list[str], user: str) -> list[str]:
    """Leave a user's part out: from its ``user`` line to the next one."""
    kept, within = [], False
    for line in lines:
        words = line.split()
        if words[:1] == ["user"]:
            within = words[1:2] == [user]
        if not within:
            kept.append(line)
    return kept


def _lines(path: Path) -> list[str]:
    return path.read_text("utf-8").splitlines() if path.exists() else []


def _write(path: Path, lines: list[str]) -> None:
    """Replace a file whole, with the owner and the mode it had: the broker may read it at any moment."""
    beside = path.with_name(path.name + ".new")
    handle = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, NEW_MODE)
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        file.write("".join(f"{line}\n" for line in lines))
        file.flush()
        os.fsync(file.fileno())
    if path.exists():
        had = path.stat()
        shutil.copymode(path, beside)
        os.chown(beside, had.st_uid, had.st_gid)
    beside.replace(path)
