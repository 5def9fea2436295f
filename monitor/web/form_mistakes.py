"""What pydantic found wrong with an entry or a record, in plain words beside the fields it is about."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from pydantic import ValidationError

from monitor.model.vessel import Vessel
from monitor.web.form_fields import FormField, words
from monitor.web.form_read import wrong_words
from monitor.web.form_show import MINUS

WHOLE = "whole"
"""Under which stands what is about no one field."""
_LIMITS = {
    "greater_than_equal": ("least", "ge"),
    "greater_than": ("above", "gt"),
    "less_than_equal": ("most", "le"),
    "less_than": ("below", "lt"),
}


def by_field(error: ValidationError, fields: Iterable[FormField]) -> dict[str, str]:
    """Put what was found beside the fields of a form; what is about none of them stands under ``whole``."""
    known = {one.name: one for one in fields}
    wrong: dict[str, str] = {}
    for found in error.errors(include_url=False):
        place = [str(part) for part in found["loc"]]
        one = known.get(place[0]) if place else None
        if one is None:
            sentence = str(found["msg"]).removeprefix("Value error, ")
            _whole(_parts(sentence) if error.title == Vessel.__name__ else [sentence], known, wrong)
            continue
        key = ".".join(place) if one.columns and len(place) > 1 else one.name
        column = next((c for c in one.columns if c.name == place[-1]), one)
        wrong[key] = _plain(found, column)
    return wrong


def _parts(sentence: str) -> list[str]:
    """Take apart what a whole record's validator says: every mistake in one sentence."""
    return sentence.replace("; ids must differ", "").split("; ")


def _whole(parts: Iterable[str], known: dict[str, FormField], wrong: dict[str, str]) -> None:
    """Put each sentence of a validator beside the fields that it is about."""
    for part in parts:
        told = next((s for s in _sentences() if part.startswith(s["begins"])), None)
        if told is None:
            key, says = WHOLE, part
            if "stands" in part and "times" in part:
                key = next((k for k in ("id", "tag") if k in known), WHOLE)
                says = wrong_words("taken", typed=_quoted(part))
            _add(wrong, key, f"{says[:1].upper()}{says[1:]}")
            continue
        named = [n for n in told.get("named", ()) if n in part.partition(";")[0]]
        for key in named or [told.get("field", WHOLE)]:
            _add(wrong, key if key in known else WHOLE, told.get("says") or f"{part[:1].upper()}{part[1:]}.")


def _sentences() -> list[dict[str, Any]]:
    told: list[dict[str, Any]] = words()["sentences"]
    return told


def _plain(found: Any, one: FormField) -> str:  # noqa: ANN401 - an error as pydantic describes it
    kind, told = found["type"], found.get("ctx", {})
    if kind in _LIMITS:
        key, name = _LIMITS[kind]
        return wrong_words(key, limit=_limit(told[name], one))
    if kind == "string_too_long":
        return wrong_words("long", limit=told["max_length"])
    if kind == "string_pattern_mismatch":
        return wrong_words("email" if one.name == "email" else "slug")
    if kind in {"string_too_short", "missing"}:
        return wrong_words("needed")
    message = str(found["msg"]).removeprefix("Value error, ")
    return f"{message[:1].upper()}{message[1:]}."


def _limit(limit: float, one: FormField) -> str:
    shown = f"{round(Decimal(str(limit)) / one.scale, 2).normalize():f}".replace("-", MINUS)
    unit = one.words.get("unit", "")
    return f"{shown} {unit}".strip()


def _quoted(part: str) -> str:
    return part.split("'")[1] if part.count("'") > 1 else part


def _add(wrong: dict[str, str], key: str, says: str) -> None:
    if says not in wrong.get(key, ""):
        wrong[key] = f"{wrong[key]} {says}" if key in wrong else says
