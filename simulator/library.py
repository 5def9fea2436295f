"""Winters by name, shipped or of one's own: their fleets and chances made into boats and faults."""

from datetime import date
from pathlib import Path
from random import Random
from zlib import crc32

from monitor.model.document import DocumentError
from monitor.model.vessel import Vessel
from simulator.boat_plan import BoatPlan
from simulator.faults.fault import FaultPlan
from simulator.fleet import amended, made_boat
from simulator.plan import WinterPlan, read_plan
from simulator.winter import Winter
from simulator.yard import DATA, at_cadence, yard_vessels

WINTERS = DATA / "winters"
FORETOLD = "-with-forecast"


def winter_names() -> tuple[str, ...]:
    """Give the names of the shipped winters."""
    return tuple(sorted(path.stem for path in WINTERS.glob("*.toml")))


def read_winter(name: str, vessels: int | None = None, seed: int | None = None, cadence_s: int | None = None) -> Winter:
    """Read a winter, ready to be streamed.

    Args:
        name: of a shipped winter, or the path of a document of one's own.
        vessels: how many boats; a made-up fleet gets so many, of the sample yard's the first are taken.
        seed: the seed, where it is not to be the document's.
        cadence_s: seconds between packs, where it is not to be the document's.

    Raises:
        DocumentError: where there is no such winter, or with every mistake in it.
    """
    path = _path(name)
    try:
        plan = read_plan(path.read_text(encoding="utf-8"), path.name, path.parent)
    except (OSError, UnicodeDecodeError) as error:
        raise DocumentError(f"{path}: cannot be read: {error}") from error
    if seed is not None:
        plan = plan.model_copy(update={"seed": seed})
    asked_seed = plan.seed
    cadence_s = plan.cadence_s if cadence_s is None else cadence_s
    if plan.fleet is not None:
        many = plan.fleet.vessels if vessels is None else vessels
        if name in winter_names():
            plan = plan.model_copy(update={"seed": seed_of(name, plan.seed)})
        records, plan = _made(plan, many)
    else:
        records = list(yard_vessels())
        if vessels is not None:
            records = records[:vessels]
            kept = {v.id for v in records}
            plan = plan.model_copy(
                update={
                    "boats": tuple(b for b in plan.boats if b.vessel in kept),
                    "faults": tuple(f for f in plan.faults if f.vessel in kept),
                }
            )
    return Winter(plan, [at_cadence(v, cadence_s) for v in records], cadence_s, seed=asked_seed)


def seed_of(name: str, seed: int) -> int:
    """Give a shipped winter's own seed: the same number makes other boats and weather in each.

    Two winters that differ by their forecasts alone share theirs, so that what a forecast is worth can be seen.
    """
    return crc32(f"{name.removesuffix(FORETOLD)}/{seed}".encode())


def _path(name: str) -> Path:
    if name in winter_names():
        return WINTERS / f"{name}.toml"
    path = Path(name)
    if path.suffix == ".toml" and path.is_file():
        return path
    raise DocumentError(
        f"there is no winter {name!r}: give the path of a .toml document, or one of {', '.join(winter_names())}"
    )


def _made(plan: WinterPlan, many: int) -> tuple[list[Vessel], WinterPlan]:
    """Make the fleet and what befalls it. A boat is the same however many lie beside her."""
    if plan.fleet is None:
        raise ValueError(f"{plan.name} has no fleet to make")
    records: list[Vessel] = []
    boats: list[BoatPlan] = []
    faults: list[FaultPlan] = []
    begins: date = plan.begins.date()
    for number in range(many):
        record, boat = made_boat(plan.fleet, number, plan.seed, begins)
        # Each boat's other one is fixed, so that she is the same in a larger fleet; the last one's is the first.
        other = f"hull-{(number + 1) % many + 1:04d}"
        left = record
        for n, chance in enumerate(plan.chances):
            random = Random(f"{plan.seed}/chance/{n}/{record.id}")
            # What the first one left of a system is what the next finds: a system left wet has no coolant to be weak.
            for fault in chance.draw(record, random, plan.begins, plan.ends, other):
                record = fault.amend(record)
                faults.append(fault)
        faults = [f for f in faults if f.vessel != record.id or not list(f.misfits(record))]
        records.append(Vessel.model_validate(record.model_dump()))
        boats.append(amended(boat, left, record))
    return records, plan.model_copy(
        update={"fleet": None, "chances": (), "boats": tuple(boats), "faults": tuple(faults)}
    )
