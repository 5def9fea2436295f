"""A record's entries in words: what each is called, and what stands in its fields."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from enum import Enum

from pydantic import BaseModel

from monitor.model.equipment import OpenItem, Sensor, Visit
from monitor.model.vessel import Vessel
from monitor.web.clock import YardClock
from monitor.web.form_fields import FormField, Takes, choice_words, fields_of, part_words
from monitor.web.form_parts import PARTS, Entry, Part, entries
from monitor.web.form_show import text_of


@dataclass(frozen=True, slots=True)
class Line:
    """One entry: what it is called, where its form is, and its fields as (label, words)."""

    title: str
    address: str
    facts: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Section:
    """A part of a record with its entries."""

    part: Part
    title: str
    one: str
    about: str
    article: str
    lines: tuple[Line, ...]


def sections(record: Vessel, clock: YardClock) -> list[Section]:
    """Give the whole record, part by part."""
    return [_section(record, part, clock) for part in PARTS.values()]


def title_of(part: Part, entry: Entry, clock: YardClock) -> str:
    """Give what an entry is called."""
    if isinstance(entry, Visit):
        return f"{clock.day(entry.on)}, {entry.by}"
    if isinstance(entry, OpenItem):
        return f"Tag {entry.tag}: {entry.what}"
    if isinstance(entry, Sensor):
        return f"{entry.place}: {choice_words(entry.quantity.value)}"
    if not part.many:
        return str(part_words(part)["title"])
    return str(getattr(entry, "name", ""))


def facts(record: Vessel, part: Part, entry: Entry, clock: YardClock) -> Iterator[tuple[str, str]]:
    """Give label and words of each field of an entry that says anything."""
    for one in fields_of(part):
        text = words_of(record, one, getattr(entry, one.name), clock)
        if text:
            yield one.label, text


def words_of(record: Vessel, one: FormField, value: object, clock: YardClock) -> str:
    """Give a field's value in words, empty where it says nothing."""
    if value is None or value in {"", ()}:
        return ""
    if isinstance(value, bool):
        return dict(one.choices).get("yes" if value else "no", "")
    if isinstance(value, Enum):
        return choice_words(str(value.value))
    if isinstance(value, date):
        return clock.day(value) if not isinstance(value, datetime) else clock.whole(round(value.timestamp() * 1000))
    if isinstance(value, tuple):
        return "; ".join(_row(one, row, clock) for row in value)
    text = text_of(one, value, clock.zone)
    sensor = record.sensor(text) if one.takes is Takes.CHOICE else None
    return f"{text} {one.words.get('unit', '')}".strip() if sensor is None else f"{sensor.place} ({sensor.id})"


def _row(one: FormField, row: object, clock: YardClock) -> str:
    cells = [getattr(row, c.name) for c in one.columns] if isinstance(row, BaseModel) else list(row)  # type: ignore[call-overload] # a pair of the dip table
    texts = []
    for column, cell in zip(one.columns, cells, strict=True):
        if isinstance(cell, bool):
            texts.append(f"({'' if cell else 'not '}{column.label.lower()})")
        else:
            texts.append(f"{text_of(column, cell, clock.zone)} {column.words.get('unit', '')}".strip())
    return " ".join(texts)


def _section(record: Vessel, part: Part, clock: YardClock) -> Section:
    told = part_words(part)
    lines = []
    for key, entry in entries(record, part):
        title = title_of(part, entry, clock)
        said = tuple(
            (label, text) for label, text in facts(record, part, entry, clock) if not part.many or text not in title
        )
        tail = f"/{key}" if part.many else ""
        lines.append(Line(title, f"/vessels/{record.id}/record/{part.slug}{tail}", said))
    return Section(part, told["title"], told["one"], told.get("about", ""), article(part, told["one"]), tuple(lines))


def article(part: Part, one: str) -> str:
    """Give what stands before a part's noun where one is added."""
    return "her" if not part.many else "an" if one[0] in "aeiou" else "a"
