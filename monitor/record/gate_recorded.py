"""What of the spring list her record implies: open items, systems, dates, and what any boat asks for in spring."""

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from monitor.model.equipment import Due, Inhibitor, LiquidSystem, OpenItem, SystemKind, SystemState
from monitor.model.gate import SEASON_DAYS
from monitor.model.vessel import Vessel
from monitor.model.views import StoredRecord
from monitor.record.checks import is_afloat
from monitor.record.gate_item import GateItem, Said, Stage
from monitor.record.gate_jobs import left_by
from monitor.record.gate_lasting import Wanted, lasting
from monitor.record.gate_openings import opens_the_hull
from monitor.rules.maintenance_limits import LIMITS as MAINTENANCE

PRACTICE = "Common practice, no source"
_STAGES = {Due.BEFORE_LIFT: Stage.LIFT, Due.IN_THE_SLINGS: Stage.SLINGS, Due.AFTER_LAUNCH: Stage.FIRST_HOUR}
_LIFE_YEARS = {
    Inhibitor.INORGANIC: MAINTENANCE["inorganic"],
    Inhibitor.ORGANIC_ACID: MAINTENANCE["organic_acid"],
}
_DAYS_A_YEAR = 365.25
_ENGINE = frozenset({SystemKind.RAW_WATER, SystemKind.CLOSED_COOLING})


def recorded(versions: Sequence[StoredRecord], today: date) -> Iterator[GateItem]:
    """Give what the record implies but for openings in the hull.

    Args:
        versions: the winter's, oldest first: a tag or a system taken out of the record was not put right by that.
        today: the yard's day.
    """
    record = versions[-1].vessel
    yield from lasting(versions, _tags, lambda _item, _valid: True)
    yield from lasting(versions, _systems, _is_gone)
    for system in record.liquid_systems:
        yield from _coolant(system, today)
    for kit in record.safety_kit:
        if kit.due <= today + timedelta(days=SEASON_DAYS):
            yield GateItem(
                f"kit-{kit.id}",
                f"{kit.name}: service or renew it before she goes out",
                Stage.NEXT_DAY,
                f"Due {kit.due}" if kit.due <= today else f"Falls due {kit.due}, while she is out",
            )
    yield from _in_any_spring(record)


def _tags(stored: StoredRecord) -> Iterator[Wanted]:
    for item in stored.vessel.open_items:
        if not (item.opens_hull or opens_the_hull(item.what)):
            why = f"Tag {item.tag} of her record{left_by(stored.vessel, item.tag)}"
            made = GateItem(f"tag-{item.tag}", item.what, _STAGES[item.due], why, done=_closed(item, stored))
            yield Wanted(made, item.closed is None)


def _closed(item: OpenItem, stored: StoredRecord) -> Said | None:
    if item.closed is None:
        return None
    if item.closed_by is None:
        return Said(stored.actor, None, f"on {item.closed}, by her record")
    return Said(item.closed_by, None, f"on {item.closed}")


def _systems(stored: StoredRecord) -> Iterator[Wanted]:
    for system in stored.vessel.liquid_systems:
        yield from map(Wanted, _system(system))


def _is_gone(item: GateItem, valid: StoredRecord) -> bool:
    """Say whether the valid record does not have a system at all: put right in it, it asks for other things."""
    of = item.id.rpartition("-")[0]
    return item.stage is Stage.LIFT and of not in {f"system-{system.id}" for system in valid.vessel.liquid_systems}


def _system(system: LiquidSystem) -> Iterator[GateItem]:
    key, name, why = f"system-{system.id}", system.name, f"Recorded as {system.state}"
    if system.state is SystemState.WET:
        yield GateItem(f"{key}-wet", f"{name} was left wet: look for splits, test it", Stage.LIFT, why)
    elif system.state is SystemState.NOT_PROVEN or any(not drain.probed for drain in system.drains):
        yield GateItem(f"{key}-unproven", f"{name} is not proven: find out how it was left", Stage.LIFT, why)
    elif system.state is SystemState.DRAINED:
        drains = ", ".join(drain.name for drain in system.drains)
        yield GateItem(f"{key}-drained", f"{name}: close its drains ({drains}) and fill it", Stage.LIFT, why)
    elif system.kind is SystemKind.FRESH_WATER:
        what = f"{name}: flush it until nothing of {system.liquid} is left"
        yield GateItem(f"{key}-flush", what, Stage.NEXT_DAY, why)


def _coolant(system: LiquidSystem, today: date) -> Iterator[GateItem]:
    if system.changed is not None and system.inhibitor is not None:
        years = _LIFE_YEARS[system.inhibitor]
        if (today - system.changed).days + SEASON_DAYS >= years * _DAYS_A_YEAR:
            why = f"Changed {system.changed}; {system.inhibitor} inhibitors last about {years:.0f} years"
            why += "" if (today - system.changed).days >= years * _DAYS_A_YEAR else ", which end while she is out"
            what = f"{system.name}: change its coolant"
            yield GateItem(f"system-{system.id}-coolant", what, Stage.FIRST_START, why)


def _in_any_spring(record: Vessel) -> Iterator[GateItem]:
    """Give what no record has to ask for, as far as she has the thing it is about."""
    if not is_afloat(record):
        yield GateItem("anodes", "Anodes: look at them, renew what is half gone", Stage.LIFT, PRACTICE)
    kinds = {system.kind for system in record.liquid_systems}
    if kinds & _ENGINE:
        yield GateItem(
            "impeller", "Impeller on the bench: no crack, no set; fit it, count its blades", Stage.FIRST_START, PRACTICE
        )
        yield GateItem("levels", "Oil, coolant and gearbox levels; belts; battery leads", Stage.FIRST_START, PRACTICE)
        yield GateItem("exhaust", "Water comes from the exhaust at once, else stop her", Stage.FIRST_START, PRACTICE)
        yield GateItem("leaks", "Hoses, clips, pumps and gland, warm and running: no drip", Stage.FIRST_HOUR, PRACTICE)
    for bilge in record.bilges:
        yield GateItem(f"dry-{bilge.id}", f"{bilge.name}: look in with a torch", Stage.FIRST_HOUR, PRACTICE)
        yield GateItem(f"again-{bilge.id}", f"{bilge.name}: look in again", Stage.NEXT_DAY, PRACTICE)
        if bilge.level_sensor is not None:
            yield GateItem(
                f"zero-{bilge.id}",
                f"{bilge.name}: set the zero of its level sensor ({bilge.level_sensor}) anew, by a dip",
                Stage.NEXT_DAY,
                "She floats otherwise than she stood: levels read as before the lift are wrong",
            )
