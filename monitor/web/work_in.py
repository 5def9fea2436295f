"""How a job of the lay-up ended, as somebody sends it, and how it is written into the record."""

import hashlib
from datetime import date, datetime
from typing import Annotated

from fastapi.concurrency import run_in_threadpool
from pydantic import BaseModel, ConfigDict, Field

from monitor.model.equipment import Due, Liquid, Slug
from monitor.model.vessel import Vessel
from monitor.model.views import StoredRecord
from monitor.model.work import JobEnd, Measured, PhotoId, Tag
from monitor.record.work_done import Ended, IntoSystem, LeftOpen, TakenOff, WorkRefusedError, job_of, with_job
from monitor.record.work_list import WorkJob
from monitor.web.acts import Name, Words
from monitor.web.commands import name_of
from monitor.web.deps import Deps
from monitor.web.found import vessel_now
from monitor.web.problems import Mistake, ProblemError
from monitor.web.record_change import change_record
from monitor.web.sight import Viewer

Short = Annotated[str, Field(max_length=200)]


class Sent(BaseModel):
    """A part of what is sent: strict about keys it does not know."""

    model_config = ConfigDict(extra="forbid")


class ReadIn(Sent):
    """A reading, by its words on the list; its unit is that of the list."""

    what: Annotated[str, Field(max_length=80)]
    value: Annotated[float, Field(allow_inf_nan=False)]
    by_means_of: Annotated[str, Field(max_length=80)] = ""


class LeftIn(Sent):
    """Something left open, off, out or disconnected; without a ``tag`` it gets the next free one."""

    what: Annotated[str, Field(min_length=1, max_length=200)]
    due: Due
    opens_hull: bool = False
    tag: Tag | None = None


class OffIn(Sent):
    """A tag of this job that comes off, and why. An opening in the hull stays on the launch gate all the same."""

    tag: Tag
    why: Annotated[str, Field(min_length=1, max_length=200)]


class IntoIn(Sent):
    """A liquid system that the tested freeze point is written into too; ``liquid`` where the record has none."""

    system: Slug
    liquid: Liquid | None = None


class JobIn(Sent):
    """How a job ended: who did it, on which day (today where none is given), to whose instruction."""

    by: Name
    end: JobEnd
    on: date | None = None
    instruction: Short = ""
    reason: Words = ""
    note: Words = ""
    readings: Annotated[list[ReadIn], Field(max_length=8)] = []
    leaves: Annotated[list[LeftIn], Field(max_length=8)] = []
    take_off: Annotated[list[OffIn], Field(max_length=20)] = []
    into: Annotated[list[IntoIn], Field(max_length=8)] = []


def found_job(deps: Deps, job_id: str) -> WorkJob:
    """Find a job of the lists.

    Raises:
        ProblemError: 404 where there is none.
    """
    job = deps.work_lists.job(job_id)
    if job is None:
        raise ProblemError(404, f"There is no job called {job_id!r} on this yard's work lists.")
    return job


def today(deps: Deps) -> date:
    """Give the day in the yard."""
    return datetime.fromtimestamp(deps.now_ms() / 1000, deps.zone).date()


def mark_of(record: Vessel, job_id: str) -> str:
    """Mark how a job stands, so that who changes it can be told if somebody else did so meanwhile."""
    job = job_of(record, job_id)
    return "" if job is None else hashlib.sha256(job.model_dump_json().encode()).hexdigest()[:16]


async def say_job(
    deps: Deps,
    viewer: Viewer,
    vessel_id: str,
    job_id: str,
    said: JobIn,
    photos: tuple[PhotoId, ...] | None = None,
    seen: str | None = None,
) -> StoredRecord:
    """Write down how a job ended, in the record as it then stands, and wait until it is committed.

    Args:
        deps: what the pages are given.
        viewer: who asks.
        vessel_id: the vessel.
        job_id: the job, by the yard's lists.
        said: how it ended.
        photos: all photos of it; None leaves those that it has.
        seen: the mark of the job as whoever says it saw it (`mark_of`); None where that is all the same.

    Raises:
        ProblemError: 404 where there is no such vessel or job, 409 where somebody else said something of the job
            meanwhile, 422 where it cannot be taken, in words.
    """
    await run_in_threadpool(vessel_now, deps, viewer, vessel_id)
    work, by = found_job(deps, job_id), " ".join(said.by.split())
    if not viewer.signed_in:
        by = await run_in_threadpool(name_of, deps, viewer, by, vessel_id)
    ended = _ended(work, said, by, today(deps), photos)

    def written(record: Vessel) -> Vessel:
        if seen is not None and mark_of(record, job_id) != seen:
            job = job_of(record, job_id)
            what = "took it back" if job is None else f"{job.by}: {job.end}"
            reason = f"somebody else has said something of this job meanwhile ({what}): look, then save again"
            raise _wrong(409, "whole", reason)
        try:
            return with_job(record, ended)
        except WorkRefusedError as error:
            raise _wrong(422, error.key, str(error)) from error

    return await change_record(deps, viewer, vessel_id, by, written)


def _ended(work: WorkJob, said: JobIn, by: str, on: date, photos: tuple[PhotoId, ...] | None) -> Ended:
    if said.on is not None and said.on > on:
        raise _wrong(422, "on", f"{said.on} is still to come")
    units = {wanted.what: wanted.unit for wanted in work.readings}
    return Ended(
        work=work,
        end=said.end,
        by=by,
        on=said.on or on,
        instruction=said.instruction.strip(),
        reason=said.reason.strip(),
        note=said.note.strip(),
        readings=tuple(
            Measured(what=r.what, value=r.value, unit=units.get(r.what, ""), by_means_of=r.by_means_of)
            for r in said.readings
        ),
        photos=photos,
        leaves=tuple(LeftOpen(left.what.strip(), left.due, left.opens_hull, left.tag) for left in said.leaves),
        off=tuple(TakenOff(one.tag, one.why) for one in said.take_off),
        into=tuple(IntoSystem(one.system, one.liquid) for one in said.into),
    )


def _wrong(status: int, key: str, reason: str) -> ProblemError:
    return ProblemError(status, f"{reason[:1].upper()}{reason[1:]}.", [Mistake(key=key, reason=reason)])
