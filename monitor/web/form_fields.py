"""The fields of an entry's form: what they take, from its model; what they are called, from ``record.toml``."""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from enum import Enum, StrEnum
from functools import cache
from types import UnionType
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic import AwareDatetime, BaseModel
from pydantic.fields import FieldInfo

from monitor.messages.phrases import FALLBACK_LANGUAGE, raw_words
from monitor.model.quantity import Quantity
from monitor.web.form_parts import Part

FEW = 5
"""So many choices stand below each other; more are a list to open."""


class Takes(StrEnum):
    """What a field takes."""

    TEXT = "text"
    LONG = "long text"
    NUMBER = "number"
    WHOLE = "whole number"
    CHOICE = "choice"
    YES_NO = "yes or no"
    DAY = "day"
    TIME = "day and time"
    ROWS = "rows"


@dataclass(frozen=True, slots=True)
class FormField:
    """One field.

    Attributes:
        name: as in the model.
        takes: what it takes.
        words: its label, hint, example, unit and the like.
        required: whether it cannot be left empty.
        start: what stands in it in an empty form, as a value; None where nothing does.
        choices: value and words of each choice, without those that depend on the vessel.
        columns: of rows.
        cells: what a row is: a model, or None for a plain tuple.
    """

    name: str
    takes: Takes
    words: dict[str, Any]
    required: bool
    start: object = None
    choices: tuple[tuple[str, str], ...] = ()
    columns: "tuple[FormField, ...]" = ()
    cells: type[BaseModel] | None = None

    @property
    def label(self) -> str:
        """What it is called."""
        return str(self.words["label"])

    @property
    def scale(self) -> Decimal:
        """What one of the shown unit is in the record's own."""
        return Decimal(self.words.get("scale", "1"))

    @property
    def quantity(self) -> Quantity | None:
        """What a sensor that is chosen here must measure."""
        return Quantity(self.words["quantity"]) if "quantity" in self.words else None

    @property
    def is_linked(self) -> bool:
        """Whether it is chosen from what stands in the same record."""
        return any(key in self.words for key in ("quantity", "sensors", "spaces"))

    @property
    def when(self) -> tuple[str, ...]:
        """The choices with which it matters; none where it always does."""
        return tuple(self.words.get("when", "").split())


@cache
def words(*keys: str) -> dict[str, Any]:
    """Give a table of ``record.toml`` by its path."""
    found: dict[str, Any] = raw_words("record", FALLBACK_LANGUAGE)
    for key in keys:
        found = found[key]
    return found


def part_words(part: Part) -> dict[str, Any]:
    """Give the words of a part."""
    return words("parts", part.slug)


@cache
def fields_of(part: Part) -> tuple[FormField, ...]:
    """Give the fields of a part's form, in the order in which they stand on it."""
    told = part_words(part)
    listed = {name: table for name, table in told["fields"].items() if "omit" not in table}
    return tuple(
        _field(name, table, part.model.model_fields[name], told.get("rows", {}).get(name, {}))
        for name, table in listed.items()
    )


def choice_words(value: str) -> str:
    """Give the words of a choice."""
    return str(words("choices").get(value, value))


def _field(name: str, table: dict[str, Any], info: FieldInfo, columns: dict[str, Any]) -> FormField:
    kind, may_lack = _plain(info.annotation)
    start = None if info.is_required() else info.get_default(call_default_factory=True)
    required = info.is_required() or (start is not None and start not in {"", ()})
    if get_origin(kind) is tuple:
        return _rows(name, table, kind, columns)
    takes = _takes(kind, table)
    choices: tuple[tuple[str, str], ...] = ()
    if isinstance(kind, type) and issubclass(kind, Enum):
        choices = tuple((str(choice.value), choice_words(str(choice.value))) for choice in kind)
    elif takes is Takes.YES_NO:
        choices = (("yes", table["yes"]), ("no", table["no"]))
    return FormField(name, takes, table, required and not may_lack, start, choices)


def _rows(name: str, table: dict[str, Any], kind: object, columns: dict[str, Any]) -> FormField:
    row = get_args(kind)[0]
    if isinstance(row, type) and issubclass(row, BaseModel):
        infos = row.model_fields
        made = tuple(_column(column, told, infos[column].annotation) for column, told in columns.items())
        return FormField(name, Takes.ROWS, table, required=False, columns=made, cells=row)
    pairs = zip(columns.items(), get_args(row), strict=True)
    return FormField(
        name, Takes.ROWS, table, required=False, columns=tuple(_column(c, told, kind) for (c, told), kind in pairs)
    )


def _column(name: str, table: dict[str, Any], annotation: object) -> FormField:
    kind, _ = _plain(annotation)
    return FormField(name, _takes(kind, table), table, required=True)


def _plain(annotation: object) -> tuple[Any, bool]:
    """Give a type without what is said about it, and whether None will do as well."""
    if get_origin(annotation) is Annotated:
        return _plain(get_args(annotation)[0])
    if get_origin(annotation) in {Union, UnionType}:
        (kind,) = (part for part in get_args(annotation) if part is not type(None))
        return _plain(kind)[0], True
    return annotation, False


def _takes(kind: object, table: dict[str, Any]) -> Takes:
    if any(key in table for key in ("quantity", "sensors", "spaces")):
        return Takes.CHOICE
    if isinstance(kind, type) and issubclass(kind, Enum):
        return Takes.CHOICE
    if kind is str:
        return Takes.LONG if table.get("long") else Takes.TEXT
    known = {
        bool: Takes.YES_NO,
        int: Takes.WHOLE,
        float: Takes.NUMBER,
        date: Takes.DAY,
        datetime: Takes.TIME,
        AwareDatetime: Takes.TIME,
    }
    return known[kind]  # type: ignore[index] # a kind that no form knows is a mistake of ours, and told as one
