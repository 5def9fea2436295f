"""What was typed into a form, read as values of the record, with every mistake beside its field."""

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from typing import Any
from zoneinfo import ZoneInfo

from monitor.web.form_fields import FormField, Takes, words
from monitor.web.form_show import MINUS

MOST_ROWS = 200
_LONGEST_SHOWN = 40


@dataclass(slots=True)
class Read:
    """What was read: values by field, and what is wrong by the name of the field on the form."""

    values: dict[str, Any] = field(default_factory=dict)
    wrong: dict[str, str] = field(default_factory=dict)


class TypedError(ValueError):
    """A text that cannot be read as what its field takes, in plain words."""


def wrong_words(key: str, **names: object) -> str:
    """Say what is wrong, in the words of ``record.toml``."""
    return str(words("wrong")[key]).format(**names)


def read(fields: Iterable[FormField], typed: Mapping[str, str], zone: ZoneInfo) -> Read:
    """Read every field of a form."""
    found = Read()
    for one in fields:
        if one.takes is Takes.ROWS:
            _read_rows(one, typed, zone, found)
            continue
        try:
            found.values[one.name] = value_of(one, typed.get(one.name, ""), zone)
        except TypedError as error:
            found.wrong[one.name] = str(error)
    return found


def value_of(one: FormField, typed: str, zone: ZoneInfo) -> object:
    """Read one field.

    Raises:
        TypedError: where it cannot be, in words.
    """
    text = typed.replace("\r\n", "\n").strip()
    if not text:
        return _empty(one)
    readers: dict[Takes, Callable[[], object]] = {
        Takes.TEXT: lambda: text,
        Takes.LONG: lambda: text,
        Takes.CHOICE: lambda: text if one.is_linked else _chosen(one, text),
        Takes.YES_NO: lambda: text == "yes",
        Takes.DAY: lambda: _day(text),
        Takes.TIME: lambda: _time(text, zone),
        Takes.NUMBER: lambda: float(_possible(one, text) * one.scale),
        Takes.WHOLE: lambda: _whole(one, text),
    }
    return readers[one.takes]()


def _empty(one: FormField) -> object:
    if one.required:
        raise TypedError(wrong_words("choose" if one.takes in {Takes.CHOICE, Takes.YES_NO} else "needed"))
    return "" if one.start == "" else None


def _chosen(one: FormField, text: str) -> str:
    if text not in {value for value, _ in one.choices}:
        raise TypedError(wrong_words("unknown", typed=text[:_LONGEST_SHOWN]))
    return text


def _number(one: FormField, text: str) -> Decimal:
    unit = str(one.words.get("unit", ""))
    digits = text.removesuffix(unit).strip().replace(MINUS, "-").replace(",", ".")
    if not re.fullmatch(r"[+-]?(\d{1,12}(\.\d{0,60})?|\.\d{1,60})", digits, re.ASCII):
        raise TypedError(wrong_words(_why_none(unit, digits), typed=text[:_LONGEST_SHOWN], unit=unit))
    try:
        return Decimal(digits)
    except InvalidOperation as error:  # the pattern lets none through that could be: kept as a plain mistake
        raise TypedError(wrong_words("number", typed=text[:_LONGEST_SHOWN])) from error


def _why_none(unit: str, digits: str) -> str:
    """Say which words tell why it is no number: it may be one in another unit, as *5 cm* for mm."""
    if not re.fullmatch(r"[+-]?\d[\d.]*\s*[^\W\d_°%][^\d]*", digits):
        return "number"
    return "other_unit" if unit else "some_unit"


def _possible(one: FormField, text: str) -> Decimal:
    """Read a number that cannot be beyond what its field says: a minus left out, metres typed for mm."""
    number = _number(one, text)
    least, most = one.words.get("least"), one.words.get("most")
    if least is None or most is None or Decimal(least) <= number <= Decimal(most):
        return number
    least, most = (str(limit).replace("-", MINUS) for limit in (least, most))
    unit = one.words["unit"]
    raise TypedError(wrong_words("outside", typed=text[:_LONGEST_SHOWN], least=least, most=most, unit=unit))


def _whole(one: FormField, text: str) -> int:
    number = _number(one, text)
    if number != number.to_integral_value():
        raise TypedError(wrong_words("whole", typed=text[:_LONGEST_SHOWN]))
    return int(number)


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise TypedError(wrong_words("day", typed=text[:_LONGEST_SHOWN])) from error


def _time(text: str, zone: ZoneInfo) -> datetime:
    try:
        at = datetime.fromisoformat(text)
    except ValueError as error:
        raise TypedError(wrong_words("time", typed=text[:_LONGEST_SHOWN])) from error
    return at if at.tzinfo is not None else at.replace(tzinfo=zone)


def _read_rows(one: FormField, typed: Mapping[str, str], zone: ZoneInfo, found: Read) -> None:
    """Read the rows that have anything in them; a box that is not ticked is a no, and makes no row."""
    rows: list[Any] = []
    numbers = {key.split(".")[1] for key in typed if key.startswith(f"{one.name}.") and key.count(".") == 2}  # noqa: PLR2004
    for number in sorted(int(n) for n in numbers if n.isdecimal() and len(n) < 4)[:MOST_ROWS]:  # noqa: PLR2004
        texts = {c.name: typed.get(f"{one.name}.{number}.{c.name}", "").strip() for c in one.columns}
        if not any(text for c, text in zip(one.columns, texts.values(), strict=True) if c.takes is not Takes.YES_NO):
            continue
        cells = {}
        for column in one.columns:
            text = texts[column.name] or ("no" if column.takes is Takes.YES_NO else "")
            try:
                cells[column.name] = value_of(column, text, zone)
            except TypedError as error:
                found.wrong[f"{one.name}.{number}.{column.name}"] = str(error)
        rows.append(cells if one.cells is not None else tuple(cells.values()))
    if not any(key.startswith(f"{one.name}.") for key in found.wrong):
        found.values[one.name] = rows
