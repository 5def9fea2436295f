"""The work list as it stands for a vessel: each job with how it ended, what it left, and what is still to say."""

from dataclasses import dataclass
from itertools import groupby

from monitor.model.equipment import LiquidSystem, OpenItem
from monitor.model.vessel import Vessel
from monitor.model.work import Job, JobEnd
from monitor.record.work_list import WorkJob, WorkLists, lying_of, work_for

_MARKS = {JobEnd.DONE: "✓", JobEnd.NOT_DONE: "\N{MULTIPLICATION SIGN}", JobEnd.NOT_FITTED: "\N{EN DASH}"}
STILL = "Still to say"


@dataclass(frozen=True, slots=True)
class JobShown:
    """A job of the list, and what the record says of it; ``said`` is None where it says nothing yet."""

    work: WorkJob
    said: Job | None
    items: tuple[OpenItem, ...] = ()

    @property
    def word(self) -> str:
        """How it ended, in words."""
        return STILL if self.said is None else self.said.end.value.capitalize()

    @property
    def mark(self) -> str:
        """What stands in its box: each end has a shape of its own."""
        return "" if self.said is None else _MARKS[self.said.end]

    @property
    def slug(self) -> str:
        """Its end, for the style sheet."""
        return "to-say" if self.said is None else self.said.end.value.replace(" ", "-")


@dataclass(frozen=True, slots=True)
class SystemShown:
    """A system's jobs."""

    name: str
    jobs: tuple[JobShown, ...]

    @property
    def left(self) -> int:
        """Of how many nothing is said yet."""
        return sum(job.said is None for job in self.jobs)


@dataclass(frozen=True, slots=True)
class WorkShown:
    """All of a vessel's work.

    Attributes:
        systems: her jobs by system.
        beside: what her record has beside the list: jobs that a yard has left out since, or that are for other boats.
        not_known: what her record does not say of her, so that jobs for every kind of boat are listed.
    """

    systems: tuple[SystemShown, ...]
    beside: tuple[JobShown, ...]
    not_known: tuple[str, ...]

    @property
    def jobs(self) -> tuple[JobShown, ...]:
        """Every job of the list."""
        return tuple(job for system in self.systems for job in system.jobs)

    @property
    def said(self) -> int:
        """Of how many jobs of the list something is said."""
        return sum(job.said is not None for job in self.jobs)


def work_shown(lists: WorkLists, record: Vessel) -> WorkShown:
    """Put a vessel's list and her record together."""
    jobs = [job_shown(work, record) for work in work_for(lists, record)]
    listed = {job.work.id for job in jobs}
    beside = [job for job in record.jobs if job.id not in listed]
    unknown = (
        ("what drives her", record.engine),
        ("whether she has a mast", record.rig),
        ("whether she lies ashore or afloat", lying_of(record)),
    )
    return WorkShown(
        tuple(SystemShown(name, tuple(some)) for name, some in groupby(jobs, key=lambda job: job.work.system)),
        tuple(job_shown(lists.job(job.id) or _as_recorded(job), record) for job in beside),
        tuple(words for words, known in unknown if known is None),
    )


def job_shown(work: WorkJob, record: Vessel) -> JobShown:
    """Put a job and what the record says of it together."""
    said = next((job for job in record.jobs if job.id == work.id), None)
    tags = () if said is None else said.tags
    return JobShown(work, said, tuple(item for item in record.open_items if item.tag in tags))


def systems_of(work: WorkJob, record: Vessel) -> tuple[LiquidSystem, ...]:
    """Give her liquid systems that a job bears on."""
    return tuple(system for system in record.liquid_systems if system.kind is work.liquid)


def _as_recorded(job: Job) -> WorkJob:
    return WorkJob(id=job.id, what=job.what, system=job.system, source="Her record")
