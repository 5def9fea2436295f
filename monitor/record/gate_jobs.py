"""Which job of the lay-up left an open item, in words."""

from monitor.model.vessel import Vessel


def left_by(record: Vessel, tag: int) -> str:
    """Say which job left a tag, who did it and what they wrote, to follow the tag; empty where none did."""
    job = next((job for job in record.jobs if tag in job.tags), None)
    if job is None:
        return ""
    said = " ".join(part for part in (job.reason, job.note) if part.strip())
    return f", left by {job.by} on {job.on} at \u201c{job.what}\u201d ({job.system})" + (f": {said}" if said else "")
