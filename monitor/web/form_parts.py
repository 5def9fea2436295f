"""The parts of a lay-up record that have a form each, and how an entry of one is found, put in and taken out."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from monitor.model.equipment import (
    Battery,
    Bilge,
    Dehumidifier,
    Heater,
    LiquidSystem,
    OpenItem,
    SafetyItem,
    Seacock,
    Sensor,
    ShorePower,
    Space,
    Visit,
)
from monitor.model.vessel import Card, Person, Vessel

Entry = BaseModel
NEW = "new"
"""What an address has where an entry has none yet."""
TAKEN_WORDS = frozenset({NEW, "remove"})
"""Words of our own in addresses, which no entry can be called by."""


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a record.

    Attributes:
        slug: what it is called in addresses and in ``record.toml``.
        where: the vessel's field that holds it; empty where its fields are the vessel's own.
        model: what an entry is.
        many: whether there can be more than one.
        key: the field an entry is called by, where there can.
        may_lack: whether a single entry can be left out.
    """

    slug: str
    where: str
    model: type[BaseModel]
    many: bool = False
    key: str = "id"
    may_lack: bool = False


BOAT = Part("boat", "", Vessel)
SENSORS = Part("sensors", "sensors", Sensor, many=True)
SYSTEMS = Part("liquid-systems", "liquid_systems", LiquidSystem, many=True)
OPEN_ITEMS = Part("open-items", "open_items", OpenItem, many=True, key="tag")
PARTS: dict[str, Part] = {
    part.slug: part
    for part in (
        BOAT,
        Part("owner", "owner", Person, may_lack=True),
        Part("card", "card", Card),
        SENSORS,
        SYSTEMS,
        Part("batteries", "batteries", Battery, many=True),
        Part("bilges", "bilges", Bilge, many=True),
        Part("spaces", "spaces", Space, many=True),
        Part("seacocks", "seacocks", Seacock, many=True),
        Part("shore-power", "shore_power", ShorePower),
        Part("dehumidifier", "dehumidifier", Dehumidifier, may_lack=True),
        Part("heater", "heater", Heater, may_lack=True),
        OPEN_ITEMS,
        Part("safety-kit", "safety_kit", SafetyItem, many=True),
        Part("visits", "visits", Visit, many=True, key=""),
    )
}


def entries(record: Vessel, part: Part) -> list[tuple[str, Entry]]:
    """Give a part's entries, each with what it is called by in addresses."""
    if part.many:
        found: tuple[Entry, ...] = getattr(record, part.where)
        return list(zip(_keys(found, part), found, strict=True))
    held = record if not part.where else getattr(record, part.where)
    return [] if held is None else [("", held)]


def find(record: Vessel, part: Part, key: str) -> Entry | None:
    """Find an entry, None where there is none."""
    return dict(entries(record, part)).get(key)


def key_of(record: Vessel, part: Part, entry: Entry) -> str:
    """Give what an entry of a record is called by in addresses."""
    return next((key for key, other in reversed(entries(record, part)) if other == entry), "")


def with_entry(record: Vessel, part: Part, key: str | None, entry: Entry) -> dict[str, Any]:
    """Give the record's data with an entry in it: in the place of the one of that key, or added where it is None."""
    data = record.model_dump()
    if not part.many:
        return {**data, part.where: entry.model_dump()}
    held = [(k, e.model_dump()) for k, e in entries(record, part)]
    if key is None:
        return {**data, part.where: [*(e for _, e in held), entry.model_dump()]}
    return {**data, part.where: [entry.model_dump() if k == key else e for k, e in held]}


def without_entry(record: Vessel, part: Part, key: str) -> dict[str, Any]:
    """Give the record's data without an entry."""
    data = record.model_dump()
    if not part.many:
        return {**data, part.where: None}
    return {**data, part.where: [e.model_dump() for k, e in entries(record, part) if k != key]}


def _keys(found: tuple[Entry, ...], part: Part) -> Iterator[str]:
    if part.key:
        yield from (str(getattr(entry, part.key)) for entry in found)
        return
    seen: dict[str, int] = {}
    for entry in found:
        day = str(getattr(entry, "on"))  # noqa: B009 - visits have no id: their day, and which of that day
        seen[day] = seen.get(day, 0) + 1
        yield f"{day}-{seen[day]}"
