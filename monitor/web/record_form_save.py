"""Puts a changed entry into a vessel's record as it stands at that moment: a new version, one after another."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from fastapi.concurrency import run_in_threadpool
from pydantic import BaseModel, ValidationError

from monitor.model.inputs import RecordVersion
from monitor.model.vessel import Vessel
from monitor.model.views import StoredRecord
from monitor.web import sight
from monitor.web.deps import Deps
from monitor.web.form_fields import fields_of
from monitor.web.form_mistakes import WHOLE, by_field
from monitor.web.form_parts import BOAT, SENSORS, Entry, Part, find, with_entry
from monitor.web.problems import ProblemError
from monitor.web.record_put import put_version, see_that_none_is_on_its_way
from monitor.web.sight import Viewer
from monitor.web.turns import Turns

turns = Turns()
"""Whose turn it is to change a record, by vessel."""


@dataclass(frozen=True, slots=True)
class Changed:
    """What came of a change.

    Attributes:
        record: the new version; None where it was not saved.
        wrong: what is wrong with it, by field.
        theirs: where somebody else changed the same entry meanwhile, the version that did; None where nobody did.
        key: what the entry is called by.
    """

    record: Vessel | None = None
    wrong: dict[str, str] = field(default_factory=dict)
    theirs: StoredRecord | None = None
    key: str = ""


def stored_record(deps: Deps, viewer: Viewer, vessel_id: str) -> StoredRecord:
    """Give the valid version of a record that this viewer may see.

    Raises:
        ProblemError: 404 where there is none.
    """
    stored = deps.records.record(vessel_id) if sight.may_see(viewer, vessel_id) else None
    if stored is None:
        raise ProblemError(404, f"There is no boat with the id {vessel_id!r} in this yard.")
    return stored


def changed_since(deps: Deps, stored: StoredRecord, part: Part, key: str, version: int) -> StoredRecord | None:
    """Give the newest version that changed an entry after a version; None where it is as it was then."""
    if stored.version == version:
        return None
    versions = {v.version: v for v in deps.records.versions(stored.vessel.id)}
    base = versions.get(version)
    then = None if base is None else _values(find(base.vessel, part, key), part)
    newest = [versions[n] for n in sorted(versions, reverse=True) if n > version]
    now = _values(find(stored.vessel, part, key), part)
    if base is not None and then == now:
        return None
    for later in newest:
        before = versions.get(later.version - 1)
        if before is None or _values(find(before.vessel, part, key), part) != now:
            return later
    return stored


async def save_entry(
    deps: Deps,
    viewer: Viewer,
    vessel_id: str,
    part: Part,
    key: str | None,
    values: Mapping[str, Any],
    version: int,
    by: str,
    *,
    replaced: bool = False,
) -> Changed:
    """Save an entry. A key of None adds it; ``replaced`` says that a sensor is another device now.

    Raises:
        ProblemError: 404 where there is no such vessel; 409 or 503 where the watch did not take it.
    """
    async with turns.of(vessel_id):
        see_that_none_is_on_its_way(vessel_id)
        stored = await run_in_threadpool(stored_record, deps, viewer, vessel_id)
        if key is not None:
            theirs = await run_in_threadpool(changed_since, deps, stored, part, key, version)
            if theirs is not None:
                return Changed(theirs=theirs)
        changed = await run_in_threadpool(_make, stored.vessel, part, key, values, replaced=replaced)
        if changed.record is not None and changed.record != stored.vessel:
            await put_version(deps, RecordVersion(changed.record, deps.now_ms(), by))
        return changed


def _make(record: Vessel, part: Part, key: str | None, values: Mapping[str, Any], *, replaced: bool) -> Changed:
    fields = fields_of(part)
    try:
        if part is BOAT:
            return Changed(Vessel.model_validate({**record.model_dump(), **values}))
        entry = part.model.model_validate(dict(values))
        data = with_entry(record, part, key, entry)
        if part is SENSORS and key is not None and (replaced or _measures_else(record, key, entry)):
            data["proofs"] = [p for p in data["proofs"] if p["sensor"] != key]
        return Changed(Vessel.model_validate(data), key=str(getattr(entry, part.key)) if part.many and part.key else "")
    except ValidationError as error:
        return Changed(wrong=by_field(error, fields) or {WHOLE: str(error)})


def _measures_else(record: Vessel, key: str, entry: BaseModel) -> bool:
    before = record.sensor(key)
    return before is not None and getattr(entry, "quantity", None) is not before.quantity


def _values(entry: Entry | None, part: Part) -> dict[str, Any] | None:
    if entry is None:
        return None
    return {one.name: getattr(entry, one.name) for one in fields_of(part)}


async def change_record(
    deps: Deps, viewer: Viewer, vessel_id: str, by: str, make: Callable[[StoredRecord], Changed | dict[str, Any]]
) -> Changed:
    """Change a record as it stands when the turn has come.

    Args:
        deps: of the yard.
        viewer: who asks.
        vessel_id: whose record.
        by: who changes it.
        make: gives the new record's data, or why there is none.

    Raises:
        ProblemError: 404 where there is no such vessel; 409 or 503 where the watch did not take it.
    """
    async with turns.of(vessel_id):
        see_that_none_is_on_its_way(vessel_id)
        stored = await run_in_threadpool(stored_record, deps, viewer, vessel_id)
        changed = await run_in_threadpool(_checked, make, stored)
        if changed.record is not None:
            await put_version(deps, RecordVersion(changed.record, deps.now_ms(), by))
        return changed


def _checked(make: Callable[[StoredRecord], Changed | dict[str, Any]], stored: StoredRecord) -> Changed:
    made = make(stored)
    if isinstance(made, Changed):
        return made
    try:
        return Changed(Vessel.model_validate(made))
    except ValidationError as error:
        return Changed(wrong=by_field(error, ()))
