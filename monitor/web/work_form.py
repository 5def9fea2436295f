"""The form of a job: what was typed, made into what is sent, with what was wrong where; and its photos."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from pydantic import ValidationError
from starlette.datastructures import FormData, UploadFile

from monitor.model.vessel import Vessel
from monitor.model.work import Job, JobEnd
from monitor.record.work_list import WorkJob
from monitor.web.photo_made import LARGEST_PHOTO
from monitor.web.problems import Mistake
from monitor.web.visit_form import number
from monitor.web.work_in import JobIn
from monitor.web.work_shown import JobShown

KEPT, OFF, INTO, LIQUID = "photos.kept", "off.", "into.", "liquid."
_FIELDS = {"reason": "reason", "note": "note", "instruction": "instruction", "by": "by", "on": "on", "end": "end"}


@dataclass(frozen=True, slots=True)
class Typed:
    """What stands in the form's fields, by their names; ``kept`` are photos that are in the journal already."""

    one: Mapping[str, str] = field(default_factory=dict)
    kept: tuple[str, ...] = ()

    @classmethod
    def of(cls, form: FormData) -> "Typed":
        """Take the fields of a form that was sent."""
        texts = [(key, value.strip()) for key, value in form.multi_items() if isinstance(value, str)]
        return cls({k: v for k, v in texts if k != KEPT}, tuple(dict.fromkeys(v for k, v in texts if k == KEPT)))

    @classmethod
    def recorded(cls, job: Job, work: WorkJob) -> "Typed":
        """Fill the form with how a job stands in the record."""
        one = {"end": job.end.value, "by": job.by, "on": job.on.isoformat(), "instruction": job.instruction}
        one |= {"reason": job.reason, "note": job.note}
        places = {wanted.what: place for place, wanted in enumerate(work.readings)}
        for read in job.readings:
            if read.what in places:
                one[f"readings.{places[read.what]}"] = f"{read.value:.12g}"
                one[f"means.{places[read.what]}"] = read.by_means_of
        return cls(one, job.photos)

    def get(self, name: str, otherwise: str = "") -> str:
        """Give what stands in a field."""
        return self.one.get(name, otherwise)


def first_typed(shown: JobShown, by: str, today: date) -> Typed:
    """Fill the form that is shown first: with the record, or who asks and the day; and what the job commonly leaves."""
    said, leaves = shown.said, shown.work.leaves
    typed = Typed({"by": by, "on": today.isoformat()}) if said is None else Typed.recorded(said, shown.work)
    if leaves is None or shown.items or (said is not None and said.end is JobEnd.DONE):
        return typed
    item = {"leaves": "yes", "item": leaves.what, "due": leaves.due.value}
    return Typed({**typed.one, **item, **({"opens_hull": "yes"} if leaves.opens_hull else {})}, typed.kept)


async def photos_in(form: FormData) -> list[tuple[str, bytes]]:
    """Give the photos of a form with their names; of one that is too large only so much that this shows."""
    files = [file for key, file in form.multi_items() if key == "photos" and isinstance(file, UploadFile)]
    read = [(file.filename or "photo", await file.read(LARGEST_PHOTO + 1)) for file in files]
    return [(name, data) for name, data in read if data or name != "photo"]


def fill(typed: Typed, work: WorkJob, record: Vessel) -> tuple[JobIn | None, list[Mistake]]:
    """Make of what was typed what is to be sent; None where it cannot be, with every mistake then."""
    wrong: list[Mistake] = []
    sent: dict[str, Any] = {key: typed.get(name) for key, name in _FIELDS.items()}
    sent["on"] = sent["on"] or None
    if not sent["end"]:
        wrong.append(Mistake(key="end", reason="Say how it ended: done, not done or not fitted."))
        sent["end"] = "done"
    sent["readings"] = list(_readings(typed, work, wrong))
    sent["leaves"] = list(_left(typed, work, wrong))
    whys = {item.tag: typed.get(f"{OFF}{item.tag}") for item in record.open_items}
    sent["take_off"] = [{"tag": tag, "why": why} for tag, why in whys.items() if why]
    systems = [system.id for system in record.liquid_systems]
    sent["into"] = [
        {"system": key, "liquid": typed.get(f"{LIQUID}{key}") or None} for key in systems if typed.get(f"{INTO}{key}")
    ]
    try:
        made = JobIn.model_validate(sent)
    except ValidationError as error:
        return None, [*wrong, *(_mistake(e["loc"], e["msg"]) for e in error.errors(include_url=False))]
    return (None, wrong) if wrong else (made, [])


def _readings(typed: Typed, work: WorkJob, wrong: list[Mistake]) -> Iterator[dict[str, Any]]:
    for place, wanted in enumerate(work.readings):
        key = f"readings.{place}"
        text = typed.get(key)
        if not text:
            continue
        value = number(text, wanted.unit)
        if value is None:
            reason = f"{wanted.what}: {text[:40]!r} is no number. Write only the figure, as 12.4."
            wrong.append(Mistake(key=key, reason=reason))
        else:
            yield {"what": wanted.what, "value": value, "by_means_of": typed.get(f"means.{place}")[:80]}


def _left(typed: Typed, work: WorkJob, wrong: list[Mistake]) -> Iterator[dict[str, Any]]:
    what, tag = typed.get("item"), typed.get("tag")
    as_offered = work.leaves is not None and what == work.leaves.what and typed.get("end") != JobEnd.DONE.value
    if not typed.get("leaves") or as_offered:  # what a job commonly leaves it leaves only where it was done
        return
    if not what:
        wrong.append(Mistake(key="item", reason="Say what is left open, off, out or disconnected."))
    elif tag and not (tag.isascii() and tag.isdecimal()):
        wrong.append(Mistake(key="tag", reason=f"{tag[:20]!r} is no tag: write its number, or nothing."))
    else:
        hull = bool(typed.get("opens_hull"))
        yield {"what": what, "due": typed.get("due"), "opens_hull": hull, "tag": int(tag[:9]) if tag else None}


_SAID = {
    "by": "Say who did it, or looked.",
    "on": "Give the day as 2026-11-03.",
    "leaves.due": "Say when it must be put right.",
    "leaves.tag": "A tag is a number from 1 to 9999.",
}


def _mistake(place: tuple[int | str, ...], message: str) -> Mistake:
    """Say what pydantic found in the form's own words, at the form's own field."""
    names = [str(part) for part in place if not isinstance(part, int)]
    path = ".".join(names)
    key = {"leaves.what": "item", "leaves.due": "due", "leaves.tag": "tag"}.get(path, names[0] if names else "whole")
    reason = _SAID.get(path, f"{path}: {message.removeprefix('Value error, ')}")
    return Mistake(key=key, reason=reason)
