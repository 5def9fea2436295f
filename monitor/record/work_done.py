"""A job as somebody says it ended, written into the record as it then stands: answer, open items, a tested liquid."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from monitor.model.equipment import Due, Liquid, LiquidSystem, OpenItem, SystemState, Tester
from monitor.model.vessel import Vessel
from monitor.model.work import Job, JobEnd, Measured
from monitor.record.work_list import Wanted, WorkJob

LARGEST_TAG = 9_999
MOST_PHOTOS = 6
"""As many as the record takes of a job (`monitor.model.work.Job`)."""

GLYCOLS = (Liquid.ETHYLENE_GLYCOL, Liquid.PROPYLENE_GLYCOL)


class WorkRefusedError(ValueError):
    """What cannot be written into the record, in words.

    Attributes:
        key: what of it: the field of the form, and the place in the data.
    """

    def __init__(self, key: str, reason: str) -> None:
        super().__init__(reason)
        self.key = key


@dataclass(frozen=True, slots=True)
class LeftOpen:
    """What a job left open, off, out or disconnected; ``tag`` is None where the next free one is to be taken."""

    what: str
    due: Due
    opens_hull: bool = False
    tag: int | None = None


@dataclass(frozen=True, slots=True)
class TakenOff:
    """A tag that somebody takes off in words."""

    tag: int
    why: str


@dataclass(frozen=True, slots=True)
class IntoSystem:
    """A liquid system that the tested freeze point is written into; ``liquid`` None where the record has it already."""

    system: str
    liquid: Liquid | None = None


@dataclass(frozen=True, slots=True)
class Ended:
    """A job as somebody says it ended.

    Attributes:
        work: the job as the list has it.
        end: how it ended.
        by: who did it, or looked.
        on: the day in the yard.
        instruction: to whose instruction.
        reason: why it was not done.
        note: what else there is to say.
        readings: what was read.
        photos: the photos of it, all of them; None leaves those that it has.
        leaves: what it left open, beside what stands in the record already.
        off: tags of this job that are taken off, each in words.
        into: liquid systems that the tested freeze point is written into.
    """

    work: WorkJob
    end: JobEnd
    by: str
    on: date
    instruction: str = ""
    reason: str = ""
    note: str = ""
    readings: tuple[Measured, ...] = ()
    photos: tuple[str, ...] | None = None
    leaves: tuple[LeftOpen, ...] = ()
    off: tuple[TakenOff, ...] = ()
    into: tuple[IntoSystem, ...] = ()


def job_of(record: Vessel, job_id: str) -> Job | None:
    """Give a job of the record by its id, None where nothing is said of it yet."""
    return next((job for job in record.jobs if job.id == job_id), None)


def next_tag(record: Vessel) -> int:
    """Give the next free tag: after the highest that hangs on her, else the lowest that does not."""
    used = {item.tag for item in record.open_items}
    after = max(used, default=0) + 1
    return after if after <= LARGEST_TAG else min(set(range(1, LARGEST_TAG + 1)) - used)


def with_job(record: Vessel, ended: Ended) -> Vessel:
    """Write a job into a record. What it left open before stays, but for tags that are taken off in words.

    A tag that is taken off stays in the record as put right, with its words in the job's note: nothing is lost of it.
    The record that is given is not checked as a whole.

    Raises:
        WorkRefusedError: where it cannot be, with the first thing that stands in the way.
    """
    _refuse(ended)
    before = job_of(record, ended.work.id)
    kept = () if before is None else before.tags
    items, off_words = _taken_off(record, ended, kept)
    for left in ended.leaves:
        tag = _tag(record.model_copy(update={"open_items": tuple(items)}), left)
        items.append(OpenItem(tag=tag, what=left.what, due=left.due, opens_hull=left.opens_hull))
        kept = (*kept, tag)
    made = Job(
        id=ended.work.id,
        system=ended.work.system,
        what=ended.work.what,
        end=ended.end,
        by=ended.by,
        on=ended.on,
        instruction=ended.instruction,
        reason=ended.reason,
        note="; ".join([*([ended.note] if ended.note else []), *off_words]),
        readings=ended.readings,
        photos=ended.photos if ended.photos is not None else () if before is None else before.photos,
        tags=kept,
    )
    jobs = [made if job.id == made.id else job for job in record.jobs]
    changes = {
        "jobs": tuple(jobs if before is not None else [*jobs, made]),
        "open_items": tuple(items),
        "liquid_systems": _systems(record, ended),
    }
    return record.model_copy(update=changes)


def treated(system: LiquidSystem, degc: float, tester: Tester, on: date, liquid: Liquid) -> LiquidSystem:
    """Give a liquid system as it is once its freeze point was tested."""
    found = {"tested_freeze_degc": degc, "tester": tester, "tested": on, "liquid": liquid}
    return system.model_copy(update={"state": SystemState.TREATED, **found})


def freeze_point(work: WorkJob) -> tuple[int, Wanted] | None:
    """Give a job's reading that is a freeze point, with its place among them; None where it asks for none."""
    return next(((n, wanted) for n, wanted in enumerate(work.readings) if wanted.freeze_point), None)


def _refuse(ended: Ended) -> None:
    if ended.end is JobEnd.NOT_DONE and not ended.reason.strip():
        raise WorkRefusedError("reason", "say why it was not done")
    wanted = {reading.what: (n, reading) for n, reading in enumerate(ended.work.readings)}
    for read in ended.readings:
        if read.what not in wanted:
            raise WorkRefusedError("readings", f"{read.what!r} is no reading of this job")
        number, span = wanted[read.what]
        if not span.low <= read.value <= span.high:
            unit = f" {span.unit}" if span.unit else ""
            raise WorkRefusedError(
                f"readings.{number}",
                f"{read.what}: {read.value:g} lies outside {span.low:g} to {span.high:g}{unit}: look again, or mend it",
            )
    if ended.photos is not None and len(ended.photos) > MOST_PHOTOS:
        raise WorkRefusedError("photos", f"at most {MOST_PHOTOS} photos a job, and these are {len(ended.photos)}")


def _tag(record: Vessel, left: LeftOpen) -> int:
    if left.tag is None:
        return next_tag(record)
    hangs = next((item for item in record.open_items if item.tag == left.tag), None)
    if hangs is not None:
        free = next_tag(record)
        raise WorkRefusedError("tag", f"tag {left.tag} hangs on “{hangs.what}” already; the next free one is {free}")
    return left.tag


def _taken_off(record: Vessel, ended: Ended, kept: tuple[int, ...]) -> tuple[list[OpenItem], list[str]]:
    off = {one.tag: one.why.strip() for one in ended.off}
    for tag, why in off.items():
        if tag not in kept:
            raise WorkRefusedError(f"off.{tag}", f"tag {tag} is not one of this job's")
        if not why:
            raise WorkRefusedError(f"off.{tag}", f"say in words why tag {tag} comes off")
    items, words = [], []
    for item in record.open_items:
        if item.tag in off and item.closed is None:
            items.append(item.model_copy(update={"closed": ended.on, "closed_by": ended.by}))
            words.append(f"Tag {item.tag} taken off: {off[item.tag]}")
        else:
            items.append(item)
    return items, words


def _systems(record: Vessel, ended: Ended) -> tuple[LiquidSystem, ...]:
    made = dict(_written(record, ended))
    return tuple(made.get(system.id, system) for system in record.liquid_systems)


def _written(record: Vessel, ended: Ended) -> Iterator[tuple[str, LiquidSystem]]:
    """Give the liquid systems that the freeze point is written into, as they are then."""
    wanted = freeze_point(ended.work)
    for into in ended.into:
        key = f"into.{into.system}"
        system = next((s for s in record.liquid_systems if s.id == into.system), None)
        if wanted is None or system is None or system.kind is not ended.work.liquid:
            raise WorkRefusedError(key, f"{into.system!r} is no liquid system of hers that this job tests")
        number, reading = wanted
        read = next((r for r in ended.readings if r.what == reading.what), None)
        if read is None:
            raise WorkRefusedError(
                f"readings.{number}", f"write down the {_small(reading.what)}, or leave the tick out"
            )
        if read.by_means_of not in set(Tester):
            raise WorkRefusedError(f"readings.{number}", f"say what the {_small(reading.what)} was tested with")
        liquid = into.liquid or system.liquid
        if liquid not in GLYCOLS:
            raise WorkRefusedError(key, f"say which antifreeze is in {system.name}")
        yield system.id, treated(system, read.value, Tester(read.by_means_of), ended.on, liquid)


def _small(text: str) -> str:
    return f"{text[:1].lower()}{text[1:]}"
