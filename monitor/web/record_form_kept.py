"""What of an entry stays, and what falls away with the choice that it belonged to."""

from collections.abc import Mapping, Sequence
from typing import Any
from zoneinfo import ZoneInfo

from pydantic import BaseModel

from monitor.web.form_fields import FormField, Takes
from monitor.web.form_read import wrong_words
from monitor.web.form_show import text_of


def kept_values(fields: Sequence[FormField], base: BaseModel | None, read: Mapping[str, Any]) -> dict[str, Any]:
    """Give an entry's values: what was read, and what no form changes as it was.

    What belongs to another choice than the one that was made falls away with it: a system that was drained now has no
    tested freezing point. Where the choice stays, nothing falls away.
    """
    before = {} if base is None else {one.name: getattr(base, one.name) for one in fields}
    values = {**before, **read}
    if base is not None and not any(values[n] != before[n] for n in _deciding(fields)):
        return values
    made = {token for name in _deciding(fields) for token in _tokens(name, values.get(name))}
    for one in fields:
        if one.when and not made & set(one.when):
            values[one.name] = [] if one.takes is Takes.ROWS else one.start
    return values


def same_times(
    fields: Sequence[FormField], base: BaseModel | None, texts: Mapping[str, str], zone: ZoneInfo
) -> dict[str, Any]:
    """Give the times that nobody changed: in autumn a clock shows an hour twice, and a text does not say which."""
    times = [] if base is None else [one for one in fields if one.takes is Takes.TIME]
    held = {one.name: getattr(base, one.name) for one in times}
    return {one.name: held[one.name] for one in times if texts.get(one.name) == text_of(one, held[one.name], zone)}


def half_closed(base: BaseModel | None, values: Mapping[str, Any]) -> dict[str, str]:
    """Say what is wrong with an open item that is being closed: it names who put it right, and when."""
    both = ("closed", "closed_by")
    if base is not None and all(getattr(base, name) == values[name] for name in both):
        return {}
    lacking = [name for name in both if not values[name]]
    return {name: wrong_words(name) for name in lacking} if len(lacking) == 1 else {}


def _deciding(fields: Sequence[FormField]) -> list[str]:
    """Give the choices that others depend on: those whose value some field names."""
    named = {token for one in fields for token in one.when}
    return [one.name for one in fields if named & {token(one.name, value) for value, _ in one.choices}]


def token(name: str, value: str) -> str:
    """Give what a choice is called in ``when``: its value, or the field's name where it is a yes.

    >>> token("state", "not proven"), token("open", "yes")
    ('not-proven', 'open')
    """
    return name if value == "yes" else "" if value == "no" else value.replace(" ", "-").replace("_", "-")


def _tokens(name: str, value: object) -> set[str]:
    if isinstance(value, bool):
        return {name} if value else set()
    return set() if value is None else {token(name, str(value))}
