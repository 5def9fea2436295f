"""A record's values as a form's fields show them: what is typed there unchanged is read back as the same value."""

from collections.abc import Iterable
from datetime import datetime
from decimal import Context, Decimal
from enum import Enum
from typing import Any
from zoneinfo import ZoneInfo

from pydantic import BaseModel

from monitor.web.form_fields import FormField, Takes

MINUS = "\N{MINUS SIGN}"
_MOST_DIGITS = 28
SPARE_ROWS = 3
"""Empty rows that stand ready below those that are filled."""


def texts_of(fields: Iterable[FormField], entry: BaseModel | None, zone: ZoneInfo) -> dict[str, str]:
    """Give what stands in each field for an entry; for None, what stands in an empty form."""
    texts: dict[str, str] = {}
    for field in fields:
        value: Any = field.start if entry is None else getattr(entry, field.name)
        if field.takes is Takes.ROWS:
            texts.update(_row_texts(field, value or (), zone))
        else:
            texts[field.name] = text_of(field, value, zone)
    return texts


def text_of(field: FormField, value: object, zone: ZoneInfo) -> str:
    """Give a value as its field shows it."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Enum):
        return str(value.value)
    if isinstance(value, datetime):
        return local_text(value, zone)
    if isinstance(value, float):
        return f"{_shortest(value, field.scale):f}".replace("-", MINUS)
    return str(value)


def _shortest(value: float, scale: Decimal) -> Decimal:
    """Give a value in the shown unit with no more digits than it is read back with as the same value."""
    whole = Decimal(repr(value)) / scale
    tried = (Context(prec=digits).plus(whole) for digits in range(1, _MOST_DIGITS))
    return next((shown for shown in tried if float(shown * scale) == value), whole).normalize()


def local_text(at: datetime, zone: ZoneInfo) -> str:
    """Give a time as the yard's clock shows it, to the minute where nothing of it is lost so."""
    local = at.astimezone(zone).replace(tzinfo=None)
    return local.isoformat(timespec="auto" if local.second or local.microsecond else "minutes")


def rows_shown(field: FormField, texts: dict[str, str]) -> int:
    """Give how many rows of a field stand on the form."""
    numbers = [key.split(".")[1] for key, text in texts.items() if key.startswith(f"{field.name}.") and text]
    return max((int(number) + 1 for number in numbers if number.isdecimal()), default=0) + SPARE_ROWS


def _row_texts(field: FormField, rows: Iterable[Any], zone: ZoneInfo) -> dict[str, str]:
    texts = {}
    for number, row in enumerate(rows):
        cells = [getattr(row, c.name) for c in field.columns] if isinstance(row, BaseModel) else row
        for column, cell in zip(field.columns, cells, strict=True):
            texts[f"{field.name}.{number}.{column.name}"] = text_of(column, cell, zone)
    return texts
