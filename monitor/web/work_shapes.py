"""The lay-up's work as the API gives it."""

from typing import Self

from pydantic import BaseModel

from monitor.model.equipment import OpenItem
from monitor.model.vessel import Vessel
from monitor.model.work import Job
from monitor.record.work_list import BOOK_FIRST, Leaves, Wanted
from monitor.web.work_shown import JobShown, WorkShown


class JobOut(BaseModel):
    """A job of the list: what it asks for, how it ended (``said``, null where that is still to say), what it left."""

    id: str
    system: str
    what: str
    caution: str
    source: str
    liquid: str | None
    readings: list[Wanted]
    usually_leaves: Leaves | None
    said: Job | None
    open_items: list[OpenItem]

    @classmethod
    def of(cls, shown: JobShown) -> Self:
        """Give a job as data."""
        work = shown.work
        return cls(
            id=work.id,
            system=work.system,
            what=work.what,
            caution=work.caution,
            source=work.source,
            liquid=None if work.liquid is None else work.liquid.value,
            readings=list(work.readings),
            usually_leaves=work.leaves,
            said=shown.said,
            open_items=list(shown.items),
        )


class WorkOut(BaseModel):
    """A vessel's work: the jobs for her by her engine, rig and where she lies, and what her record has beside them."""

    vessel: str
    name: str
    book_first: str
    engine: str | None
    rig: str | None
    not_known: list[str]
    said: int
    still_to_say: int
    jobs: list[JobOut]
    beside_the_list: list[JobOut]

    @classmethod
    def of(cls, record: Vessel, work: WorkShown) -> Self:
        """Give all of it as data."""
        return cls(
            vessel=record.id,
            name=record.name,
            book_first=BOOK_FIRST,
            engine=None if record.engine is None else record.engine.value,
            rig=None if record.rig is None else record.rig.value,
            not_known=list(work.not_known),
            said=work.said,
            still_to_say=len(work.jobs) - work.said,
            jobs=[JobOut.of(job) for job in work.jobs],
            beside_the_list=[JobOut.of(job) for job in work.beside],
        )
