"""The invented yard and its twelve boats: their lay-up records, and the winter that befalls them.

The records are the sample documents of ``coldberth vessel import``; the yard, the boats and the people are invented.
"""

from functools import cache
from pathlib import Path

from monitor.model.document import read_vessel
from monitor.model.vessel import Vessel
from simulator.boat_plan import BoatPlan, usual_plan
from simulator.plan import WinterPlan, read_plan

YARD = "eiderhythe"
CADENCE_S = 3_600
DATA = Path(__file__).parent / "data"
WINTER = DATA / "winters" / "jfk-2013.toml"


def record_paths() -> tuple[Path, ...]:
    """Give the boats' record files, in the order of their names."""
    return tuple(sorted((DATA / "boats").glob("*.toml")))


def yard_vessels(cadence_s: int = CADENCE_S) -> tuple[Vessel, ...]:
    """Give the boats' records, their sensors recorded to report at a cadence."""
    return tuple(
        at_cadence(read_vessel(path.read_text(encoding="utf-8"), path.name), cadence_s) for path in record_paths()
    )


def at_cadence(record: Vessel, cadence_s: int) -> Vessel:
    """Give a record whose sensors all report at a cadence."""
    sensors = tuple(s.model_copy(update={"interval_s": float(cadence_s)}) for s in record.sensors)
    return record.model_copy(update={"sensors": sensors})


def yard_plan(path: Path = WINTER) -> WinterPlan:
    """Give the winter that the yard goes through, checked against the records."""
    return read_plan(path.read_text(encoding="utf-8"), path.name).fitting(yard_vessels(), path.name)


@cache
def sample_boats() -> dict[str, tuple[Vessel, BoatPlan]]:
    """Give every boat of the yard by id: her record and how she truly is."""
    truths = {plan.vessel: plan for plan in yard_plan().boats}
    return {v.id: (v, truths.get(v.id) or usual_plan(v)) for v in yard_vessels()}
