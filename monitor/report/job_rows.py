"""The jobs of the lay-up as rows, system by system: how each ended, who did it when, what was read, what it left."""

from monitor.messages.figures import Figures
from monitor.model.vessel import Vessel
from monitor.model.work import Job, JobEnd, Measured

Row = list[str]
MINUS = "\u2212"


def job_rows(record: Vessel, figures: Figures) -> list[Row]:
    """Give system, job, how it ended, by whom on which day, readings and what was written, in the record's order."""
    systems = dict.fromkeys(job.system for job in record.jobs)
    return [_row(job, figures) for system in systems for job in record.jobs if job.system == system]


def _row(job: Job, figures: Figures) -> Row:
    end = job.end.value + (f": {job.reason}" if job.end is not JobEnd.DONE and job.reason.strip() else "")
    by = f"{job.by}, {figures.date(job.on.isoformat())}"
    read = "\n".join(_read(one) for one in job.readings) or "\u2013"
    said = [
        f"to {job.instruction}" if job.instruction.strip() else "",
        job.reason if job.end is JobEnd.DONE else "",
        job.note,
        f"left {'tag' if len(job.tags) == 1 else 'tags'} {', '.join(map(str, job.tags))}" if job.tags else "",
        f"{len(job.photos)} {'photo' if len(job.photos) == 1 else 'photos'}" if job.photos else "",
    ]
    return [job.system, job.what, end, by, read, "; ".join(part for part in said if part.strip()) or "\u2013"]


def _read(one: Measured) -> str:
    means = f" ({one.by_means_of})" if one.by_means_of else ""
    return f"{one.what} {f'{one.value:g}'.replace('-', MINUS)} {one.unit}".rstrip() + means
