"""What taking an entry out of a record brings with it: what falls away, and what has to be changed first."""

from dataclasses import dataclass
from typing import Any

from monitor.model.equipment import OpenItem, Space
from monitor.model.vessel import Vessel
from monitor.record.refers import Reference, sensor_references
from monitor.web.form_fields import fields_of
from monitor.web.form_parts import BOAT, OPEN_ITEMS, PARTS, SENSORS, Part, find, without_entry

_BY_FIELD = {part.where: part for part in PARTS.values()}


@dataclass(frozen=True, slots=True)
class Removal:
    """What a removal comes to.

    Attributes:
        data: the record's data without the entry, and without what names it.
        first: what cannot be without it, and has to be changed or removed first: words, and the address of its form.
        falls: what falls away with it, a sentence each.
    """

    data: dict[str, Any]
    first: tuple[tuple[str, str], ...] = ()
    falls: tuple[str, ...] = ()


def removal(record: Vessel, part: Part, key: str) -> Removal:
    """Say what taking an entry out comes to."""
    data = without_entry(record, part, key)
    if part is SENSORS:
        return _of_sensor(record, key, data)
    entry = find(record, part, key)
    if part is OPEN_ITEMS and isinstance(entry, OpenItem):
        named = [job for job in record.jobs if entry.tag in job.tags]
        data["jobs"] = [{**job, "tags": [t for t in job["tags"] if t != entry.tag]} for job in data["jobs"]]
        return Removal(data, falls=tuple(f"The job {job.what!r} no longer names tag {entry.tag}." for job in named))
    dryer = record.dehumidifier
    if isinstance(entry, Space) and dryer is not None and dryer.space == entry.id:
        return Removal(data, (("The dehumidifier dries this space", f"/vessels/{record.id}/record/dehumidifier"),))
    return Removal(data)


def _of_sensor(record: Vessel, key: str, data: dict[str, Any]) -> Removal:
    named = [reference for reference in sensor_references(record) if reference.sensor == key]
    first = tuple((f"{r.name}: {_label(r)}", _address(record, r)) for r in named if r.needed)
    falls = [f"{r.name}: {_label(r)} is left empty." for r in named if not r.needed]
    for reference in named:
        _clear(data, reference)
    proofs = [proof for proof in record.proofs if proof.sensor == key]
    data["proofs"] = [proof for proof in data["proofs"] if proof["sensor"] != key]
    if proofs:
        falls.append(f"How it was proved by hand is taken off her record ({len(proofs)}).")
    falls.append("What it said stays in the history, and is not shown any more.")
    return Removal(data, first, tuple(falls))


def _clear(data: dict[str, Any], reference: Reference) -> None:
    if not reference.part:
        data[reference.field] = None
    elif not reference.entry:
        data[reference.part] = {**data[reference.part], reference.field: None}
    else:
        data[reference.part] = [
            {**entry, reference.field: None} if entry["id"] == reference.entry else entry
            for entry in data[reference.part]
        ]


def _label(reference: Reference) -> str:
    part = _BY_FIELD.get(reference.part, BOAT)
    return next(one.label.lower() for one in fields_of(part) if one.name == reference.field)


def _address(record: Vessel, reference: Reference) -> str:
    return f"/vessels/{record.id}/record/{_BY_FIELD[reference.part].slug}/{reference.entry}"
