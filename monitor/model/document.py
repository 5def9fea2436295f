"""A vessel's record as a TOML document: read whole, with every mistake in one answer, and written back."""

import re
import tomllib
from typing import Any

import tomli_w
from pydantic import ValidationError

from monitor.model.vessel import Vessel

_MOST_PARTS = 16
# What tomllib needs for a key grows with the square of its parts: 20,000 of them, in 40 kB, take six seconds. A word is
# begun at its first letter only, so that this search does not do the same.
_DEEP_KEY = re.compile(
    rf"""(?<![\w-])(?:(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){{{_MOST_PARTS},}}""", re.ASCII
)
_PLAINER = {
    "extra_forbidden": "unknown key: look for a slip of the pen",
    "missing": "is missing",
}


class DocumentError(Exception):
    """A document that cannot be used. Its text has one line a mistake: file, key, reason."""


def read_vessel(text: str, source: str) -> Vessel:
    """Read a vessel's record from TOML.

    Args:
        text: the document.
        source: what to call it in errors, such as its file name.

    Raises:
        DocumentError: with every mistake found.
    """
    try:
        data = parse_toml(text)
    except ValueError as error:
        raise DocumentError(f"{source}: not TOML: {error}") from error
    try:
        return Vessel.model_validate(data)
    except ValidationError as error:
        raise DocumentError("\n".join(mistakes(error, source))) from error


def parse_toml(text: str) -> dict[str, Any]:
    """Parse TOML that somebody sent who may mean ill.

    Raises:
        ValueError: where it is none, or no record of ours is so deep.
    """
    deep = _DEEP_KEY.search(text)
    if deep is not None:
        line = text.count("\n", 0, deep.start()) + 1
        raise ValueError(f"line {line}: a key of more than {_MOST_PARTS} parts")
    try:
        return tomllib.loads(text)
    except RecursionError as error:
        raise ValueError("values within values, hundreds deep") from error


def write_vessel(vessel: Vessel) -> str:
    """Write a vessel's record as TOML that `read_vessel` reads back to an equal record."""
    return tomli_w.dumps(_without_none(vessel.model_dump(mode="python")))


def mistakes(error: ValidationError, source: str) -> list[str]:
    """Put a pydantic error into one line a mistake: file, key, reason."""
    lines = []
    for mistake in error.errors(include_url=False):
        key = ".".join(str(part) for part in mistake["loc"]) or "document"
        reason = _PLAINER.get(mistake["type"]) or mistake["msg"].removeprefix("Value error, ")
        lines.append(f"{source}: {key}: {reason[:1].lower()}{reason[1:]}")
    return lines


def _without_none(value: Any) -> Any:  # noqa: ANN401 - a TOML tree is what it is
    if isinstance(value, dict):
        return {k: _without_none(v) for k, v in value.items() if v is not None}
    if isinstance(value, (list, tuple)):
        return [_without_none(v) for v in value]
    return str(value) if isinstance(value, str) else value
