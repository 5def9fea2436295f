"""Reads work lists from TOML, ours first and then a yard's own, with every mistake in one answer."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from pydantic import Field, ValidationError

from monitor.model.document import DocumentError, mistakes, parse_toml
from monitor.model.equipment import Document, Name, Slug
from monitor.record.work_list import WorkJob, WorkLists, WorkSystem


@dataclass(frozen=True, slots=True)
class ListText:
    """The text of one file of lists, and what to call it in errors."""

    source: str
    text: str


class _System(Document):
    id: Slug
    name: Name | None = None
    jobs: tuple[WorkJob, ...] = ()


class _File(Document):
    systems: tuple[_System, ...] = ()
    leave_out: tuple[Slug, ...] = Field(default=())


@dataclass(slots=True)
class _Merged:
    """The lists as far as they are read: names and jobs by their ids, in order."""

    names: dict[str, str] = field(default_factory=dict)
    jobs: dict[str, tuple[str, WorkJob]] = field(default_factory=dict)


def read_work_lists(ours: Iterable[ListText], yards: Iterable[ListText] = ()) -> WorkLists:
    """Read lists.

    A yard's file adds systems and jobs, puts a job of the same id in the place of ours, and leaves out what it says.

    Raises:
        DocumentError: with every mistake found, one line each: file, key, reason.
    """
    wrong: list[str] = []
    merged = _Merged()
    for texts in (ours, yards):
        read = list(_read(texts, wrong))
        wrong += _repeats(read)
        for source, file in read:
            wrong += _add(merged, source, file)
        for source, file in read:
            wrong += _leave_out(merged, source, file)
    if wrong:
        raise DocumentError("\n".join(wrong))
    by_system: dict[str, list[WorkJob]] = {key: [] for key in merged.names}
    for system, job in merged.jobs.values():
        by_system[system].append(job.model_copy(update={"system": merged.names[system]}))
    return WorkLists(
        systems=tuple(
            WorkSystem(id=key, name=merged.names[key], jobs=tuple(jobs)) for key, jobs in by_system.items() if jobs
        )
    )


def _read(texts: Iterable[ListText], wrong: list[str]) -> Iterator[tuple[str, _File]]:
    for text in texts:
        try:
            yield text.source, _File.model_validate(parse_toml(text.text))
        except ValidationError as error:
            wrong += mistakes(error, text.source)
        except ValueError as error:
            wrong.append(f"{text.source}: not TOML: {error}")


def _repeats(read: Sequence[tuple[str, _File]]) -> Iterator[str]:
    """Give what stands twice where nothing is to be put in anything's place."""
    places = [(job.id, source) for source, file in read for system in file.systems for job in system.jobs]
    times = Counter(key for key, _ in places)
    for key, source in places:
        if times[key] > 1:
            files = ", ".join(sorted({other for same, other in places if same == key}))
            yield f"{source}: jobs: {key!r} stands {times[key]} times ({files}); ids must differ"


def _add(merged: _Merged, source: str, file: _File) -> Iterator[str]:
    for system in file.systems:
        if system.name is None and system.id not in merged.names:
            yield f"{source}: systems {system.id}: name: is missing, and no list before has this system"
            continue
        if system.name is not None:
            merged.names[system.id] = system.name
        for job in system.jobs:
            before = merged.jobs.get(job.id)
            if before is not None and before[0] != system.id:
                del merged.jobs[job.id]  # it moves to the end of its new system
            merged.jobs[job.id] = (system.id, job)


def _leave_out(merged: _Merged, source: str, file: _File) -> Iterator[str]:
    for key in file.leave_out:
        if merged.jobs.pop(key, None) is None:
            yield f"{source}: leave_out: there is no job {key!r}: look for a slip of the pen"
