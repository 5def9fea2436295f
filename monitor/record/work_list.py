"""What there is to do when a boat is laid up: jobs by system, each for the boats that it is for. A list is data.

It is a starting point that a yard edits, and never a maker's procedure: the engine maker's book goes first.
"""

from collections.abc import Iterator
from enum import StrEnum
from typing import Annotated, Self

from pydantic import Field, model_validator

from monitor.model.equipment import Document, Due, Name, Note, Slug, SystemKind, Tester
from monitor.model.vessel import Vessel
from monitor.model.work import Engine, Rig
from monitor.record.checks import is_afloat, stands_ashore

BOOK_FIRST = "The engine maker's book goes first: this list is a yard's starting point, and no maker's procedure."
CELSIUS = "°C"
Span = Annotated[float, Field(allow_inf_nan=False)]
What = Annotated[str, Field(min_length=1, max_length=200)]


class Lying(StrEnum):
    """Where she lies through the winter."""

    ASHORE = "ashore"
    AFLOAT = "afloat"


class Wanted(Document):
    """A reading that a job asks for: what, in which unit, between what it must lie, and what it can be read with.

    ``freeze_point`` marks that of a liquid: it can be written into that liquid system's line of the record too.
    """

    what: Name
    unit: Annotated[str, Field(max_length=16)] = ""
    low: Span
    high: Span
    means: Annotated[tuple[Name, ...], Field(max_length=8)] = ()
    freeze_point: bool = False

    @model_validator(mode="after")
    def _holds_together(self) -> Self:
        if self.low >= self.high:
            raise ValueError(f"low {self.low:g} must lie below high {self.high:g}")
        if self.freeze_point and (self.unit != CELSIUS or not self.means or set(self.means) - set(Tester)):
            raise ValueError(
                f"a freeze_point is in {CELSIUS!r}, and its means are some of: {', '.join(t.value for t in Tester)}"
            )
        return self


class Leaves(Document):
    """What a job commonly leaves open, off, out or disconnected, and when it must be put right."""

    what: What
    due: Due
    opens_hull: bool = False


class WorkJob(Document):
    """One job. Where it names no engine, rig or lying it is for any.

    ``system`` is the name of the system it stands under, written by whoever reads the list.
    """

    id: Slug
    what: What
    system: Annotated[str, Field(max_length=80)] = ""
    engines: tuple[Engine, ...] = ()
    rigs: tuple[Rig, ...] = ()
    lying: tuple[Lying, ...] = ()
    readings: Annotated[tuple[Wanted, ...], Field(max_length=8)] = ()
    leaves: Leaves | None = None
    liquid: SystemKind | None = None
    caution: Note = ""
    source: Annotated[str, Field(min_length=1, max_length=200)]

    @model_validator(mode="after")
    def _freeze_point_is_of_a_liquid(self) -> Self:
        if self.liquid is None and any(wanted.freeze_point for wanted in self.readings):
            raise ValueError("a freeze_point is that of a liquid system: say its kind in liquid")
        return self

    def is_for(self, engine: Engine | None, rig: Rig | None, lying: Lying | None) -> bool:
        """Say whether it is for such a boat; None is what is not known of her, and rules nothing out."""
        return all(
            known is None or not wanted or known in wanted
            for known, wanted in ((engine, self.engines), (rig, self.rigs), (lying, self.lying))
        )


class WorkSystem(Document):
    """The jobs on one system, in the order in which they are done."""

    id: Slug
    name: Name
    jobs: tuple[WorkJob, ...] = ()


class WorkLists(Document):
    """All lists as they hold for this yard, a system after another."""

    systems: tuple[WorkSystem, ...] = ()

    def jobs(self) -> Iterator[WorkJob]:
        """Give every job, for whatever boat it is."""
        for system in self.systems:
            yield from system.jobs

    def job(self, job_id: str) -> WorkJob | None:
        """Find a job by its id."""
        return next((job for job in self.jobs() if job.id == job_id), None)


def work_for(lists: WorkLists, vessel: Vessel) -> tuple[WorkJob, ...]:
    """Give the jobs for a vessel, a system after another, by her engine, her rig and where she lies."""
    return jobs_for(lists, vessel.engine, vessel.rig, lying_of(vessel))


def jobs_for(lists: WorkLists, engine: Engine | None, rig: Rig | None, lying: Lying | None) -> tuple[WorkJob, ...]:
    """Give the jobs for such a boat; what is None rules nothing out."""
    return tuple(job for job in lists.jobs() if job.is_for(engine, rig, lying))


def lying_of(vessel: Vessel) -> Lying | None:
    """Say where she lies, None where her record does not tell."""
    if is_afloat(vessel):
        return Lying.AFLOAT
    return Lying.ASHORE if stands_ashore(vessel) else None
