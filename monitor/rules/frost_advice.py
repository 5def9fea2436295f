"""What to do first about frost, and what not, from the record: codes that `monitor.messages` knows.

Each list begins with what somebody in the yard can do tonight with what is aboard by the record: drains that are named,
a heater that is there, a pump that hangs on a battery. Where nothing can be done it ends with whom to tell. Order as in
the trade's guides to winterising: drain, then antifreeze that is not poisonous until it runs out pink; the makers'
books go first.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field

from monitor.model.equipment import Battery, LiquidSystem, SystemKind
from monitor.model.vessel import Vessel
from monitor.rules.battery_pump import feeds_pump

Facts = dict[str, int | float | str | bool | None]

_ENGINE = frozenset({SystemKind.CLOSED_COOLING, SystemKind.RAW_WATER})
_BY_BOOK = frozenset({SystemKind.CLOSED_COOLING, SystemKind.HEATING})
"""Systems that are filled again by their maker's book alone."""
_FROM_SEA = frozenset({SystemKind.RAW_WATER, SystemKind.HEADS})

RUNS_THROUGH = frozenset({"pink_where_wet", "more_pink", "strengthen_coolant"})
"""Steps that put pressure on a system: not before one that froze has been looked at."""


@dataclass(frozen=True, slots=True)
class Advice:
    """What to do first and what not, by how it stands with a thing.

    Attributes:
        ahead: what to do while it has not frozen.
        frozen: what to do while it is below its freezing point.
        thawed: what to do once it has thawed.
        never: what not to do before it has thawed.
        never_thawed: what not to do then.
        facts: what the words of these need to know.
    """

    ahead: tuple[str, ...] = ()
    frozen: tuple[str, ...] = ()
    thawed: tuple[str, ...] = ()
    never: tuple[str, ...] = ()
    never_thawed: tuple[str, ...] = ()
    facts: Facts = field(default_factory=dict)


def advice_on(record: Vessel, thing: LiquidSystem | Battery, how: str) -> Advice:
    """Say what to do about a thing that can freeze.

    Args:
        record: her record.
        thing: what can freeze.
        how: how it was left: ``treated``, ``wet``, ``not proven`` or ``battery``.
    """
    return _on_battery(record, thing) if isinstance(thing, Battery) else _on_system(record, thing, how)


def _on_system(record: Vessel, system: LiquidSystem, how: str) -> Advice:
    treated, warmth = how == "treated", tuple(_warmth(record))
    ahead = tuple(_strengthen(system) if treated else _drain(system, how))
    return Advice(
        ahead=(*ahead, *warmth, "tell_owner"),
        frozen=tuple(_frozen(system, treated=treated)),
        thawed=tuple(_thawed(system, how)),
        never=tuple(_never(system, treated=treated)),
        never_thawed=("no_start_unseen" if system.kind in _ENGINE else "no_water_unseen",)
        + (("glycol_poison",) if treated else ()),
        facts={
            "drain_names": ", ".join(drain.name for drain in system.drains),
            "unprobed": ", ".join(drain.name for drain in system.drains if not drain.probed),
            "heater_note": "" if record.heater is None else record.heater.note,
            "afloat": record.berth is not None,
        },
    )


def _strengthen(system: LiquidSystem) -> Iterator[str]:
    yield "retest_coolant"
    yield "strengthen_coolant" if system.kind in {*_BY_BOOK, *_ENGINE} else "more_pink"


def _drain(system: LiquidSystem, how: str) -> Iterator[str]:
    if how == "not proven":
        yield "probe_unprobed" if any(not drain.probed for drain in system.drains) else "prove_system"
    if system.kind in _FROM_SEA:
        yield "shut_seacock_first"
    if system.kind is SystemKind.FRESH_WATER:
        yield "water_heater_off"
    yield "drain_by_book" if system.kind in {*_BY_BOOK, *_ENGINE} else "drain_system"
    if system.kind not in _BY_BOOK:
        yield "pink_where_wet"


def _frozen(system: LiquidSystem, *, treated: bool) -> Iterator[str]:
    yield "keep_engine_stopped" if system.kind in _ENGINE and treated else "shut_supply"
    yield "inspect_for_frost"
    yield "note_on_switch"
    yield "tell_owner_frozen"


def _thawed(system: LiquidSystem, how: str) -> Iterator[str]:
    yield from ("look_for_splits", "watch_bilge")
    if how == "treated":
        yield "retest_coolant"
    else:
        yield "shut_supply"
        yield from (step for step in _drain(system, how) if step not in RUNS_THROUGH)
    yield "tell_owner_frozen"


def _warmth(record: Vessel) -> Iterator[str]:
    yield "open_lockers"
    heater = record.heater
    if heater is None:
        yield "warmth_attended"
    else:
        yield "see_heater_runs" if heater.on else "heater_attended"


def _never(system: LiquidSystem, *, treated: bool) -> Iterator[str]:
    if treated and system.kind in _ENGINE:
        yield "no_start_if_slush"
    yield "no_portable_heater"
    yield "no_open_flame_on_pipes"
    if treated:
        yield "glycol_poison"
    elif system.kind not in _BY_BOOK:
        yield "no_engine_antifreeze"
    if system.kind in _FROM_SEA:
        yield "no_forcing_seacock"


def _on_battery(record: Vessel, battery: Battery) -> Advice:
    pump = ("feed_pump_first",) if feeds_pump(battery, record) and record.berth else ()
    return Advice(
        ahead=(*pump, "recharge_battery_ashore", "or_loads_off", "tell_owner"),
        frozen=("leave_frozen_battery", *pump, "thaw_battery_ashore", "tell_owner_frozen"),
        thawed=("look_at_case", "tell_owner_frozen"),
        never=("no_charging_frozen", "no_portable_heater"),
        never_thawed=("no_charging_frozen",),
        facts={"charger": battery.charger},
    )
