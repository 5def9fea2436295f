"""What the frost rule says: its findings as data, with causes and advice by how the thing was left."""

from monitor.model.finding import Figure, Finding, TimeToHarm
from monitor.model.reading import Seen
from monitor.model.scale import Priority, Sure
from monitor.rules.frost_things import Freezable

GOOD_ERROR_K = 2.0
"""Up to this error of tester and thermometer together a finding calls itself likely; more is possible only."""

_CAUSES = {
    "treated": ("coolant_weak", "cold_night", "probe_misplaced"),
    "wet": ("left_wet", "cold_night"),
    "not proven": ("state_not_proven", "cold_night"),
    "battery": ("battery_low", "cold_night"),
}
_FIRST = {
    "treated": ("retest_coolant", "strengthen_coolant"),
    "wet": ("drain_system",),
    "not proven": ("prove_system", "drain_system"),
    "battery": ("recharge_battery_ashore",),
}
_FIRST_FROZEN = {
    "treated": ("inspect_for_frost", "keep_engine_stopped"),
    "wet": ("inspect_for_frost", "shut_supply"),
    "not proven": ("inspect_for_frost", "shut_supply"),
    "battery": ("thaw_battery_ashore",),
}
_NEVER = {
    "treated": ("no_start_if_slush", "no_portable_heater", "glycol_poison"),
    "wet": ("no_portable_heater", "no_open_flame_on_pipes"),
    "not proven": ("no_portable_heater", "no_open_flame_on_pipes"),
    "battery": ("no_charging_frozen",),
}


def close_to_freezing(
    thing: Freezable, seen: Seen, *, freeze_degc: float, priority: Priority, fall_k_per_h: float, carried_h: float
) -> Finding:
    """Say that a thing is near or below its freezing point (degC); ``fall_k_per_h`` is 0 or negative."""
    t_degc, error_k = seen.value, thing.error_k + thing.sensor_error_k
    frozen = t_degc <= freeze_degc
    return Finding(
        rule="frost",
        subject=thing.subject,
        kind="wet" if thing.how in {"wet", "not proven"} else "battery" if thing.battery else "margin",
        priority=priority,
        figure=Figure(round(t_degc, 1), round(freeze_degc, 1), "degC"),
        harm=_time_to_harm(t_degc - freeze_degc, error_k, fall_k_per_h),
        sure=Sure.LIKELY if thing.own_probe and error_k <= GOOD_ERROR_K else Sure.POSSIBLE,
        causes=_CAUSES[thing.how],
        first=_FIRST_FROZEN[thing.how] if frozen else _FIRST[thing.how],
        never=_NEVER[thing.how],
        rests_on=(seen,),
        facts={
            "name": thing.name,
            "how": thing.how,
            "t_degc": round(t_degc, 1),
            "protected_to_degc": round(freeze_degc, 1),
            "margin_k": round(t_degc - freeze_degc - error_k, 1),
            "error_k": round(error_k, 1),
            "foretold_degc": round(t_degc + fall_k_per_h * carried_h, 1),
            "carried_h": carried_h,
            "own_probe": thing.own_probe,
            "frozen": frozen,
        },
    )


def not_known(thing: Freezable, freeze_degc: float, last: Seen | None) -> Finding:
    """Say that nobody knows how cold a thing is."""
    return Finding(
        rule="frost",
        subject=thing.subject,
        kind="not known",
        priority=Priority.CAUTION,
        figure=Figure(None, round(freeze_degc, 1), "degC"),
        harm=None,
        sure=Sure.NOT_KNOWN,
        causes=("no_temperature",),
        first=("read_temperature_aboard",),
        never=(),
        rests_on=() if last is None else (last,),
        facts={"name": thing.name, "how": thing.how, "protected_to_degc": round(freeze_degc, 1)},
    )


def froze_unheard(thing: Freezable, freeze_degc: float, *, from_ms: int, to_ms: int, lowest_degc: float) -> Finding:
    """Say that a thing was below its freezing point while nobody heard it."""
    return Finding(
        rule="frost",
        subject=thing.subject,
        kind="froze unheard",
        priority=Priority.WARNING,
        figure=Figure(round(lowest_degc, 1), round(freeze_degc, 1), "degC"),
        harm=None,
        sure=Sure.LIKELY,
        causes=_CAUSES[thing.how],
        first=_FIRST_FROZEN[thing.how],
        never=_NEVER[thing.how],
        facts={
            "name": thing.name,
            "how": thing.how,
            "from_ms": from_ms,
            "to_ms": to_ms,
            "lowest_degc": round(lowest_degc, 1),
            "protected_to_degc": round(freeze_degc, 1),
        },
    )


def _time_to_harm(above_k: float, error_k: float, fall_k_per_h: float) -> TimeToHarm | None:
    if fall_k_per_h < 0.0:
        soonest, latest = max(above_k - error_k, 0.0), max(above_k + error_k, 0.0)
        return TimeToHarm(soonest / -fall_k_per_h * 3600, latest / -fall_k_per_h * 3600)
    return TimeToHarm(0.0, None) if above_k <= 0.0 else None
