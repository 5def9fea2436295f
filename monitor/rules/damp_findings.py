"""The damp rule's findings: each kind's figure, causes, first steps and warnings."""

from dataclasses import dataclass

from monitor.model.equipment import Dehumidifier, DehumidifierKind, Space
from monitor.model.finding import Figure, Finding, TimeToHarm
from monitor.model.reading import Seen
from monitor.model.scale import Priority, Sure
from monitor.rules.damp_drying import Drying, held_rh
from monitor.rules.damp_heat import Heating
from monitor.rules.damp_hours import Heard
from monitor.rules.damp_limits import LIMITS
from monitor.rules.damp_mould import Growth
from monitor.rules.damp_surface import Surface, within_degc
from monitor.rules.mains import Mains
from monitor.rules.rule import DAY_MS
from monitor.science.air import mixing_ratio

RULE = "damp"
DEHUMIDIFIER = "dehumidifier"
_G_PER_KG = 1000.0
_DAY_S = DAY_MS / 1000


@dataclass(frozen=True, slots=True)
class Air:
    """One space as it is now: its record, its surface, its readings, and which of them are fresh."""

    space: Space
    surface: Surface
    growth: Growth
    rh: Heard | None
    degc: Heard | None
    outside: Heard | None
    heard: bool
    outside_recorded: bool
    outside_heard: bool


def stopped(air: Air, drying: Drying, machine: Dehumidifier, mains: Mains) -> Finding:
    """Say that the dehumidifier no longer dries its space."""
    level = held_rh(drying, machine.hold_below_rh)
    too_cold = (
        machine.kind is DehumidifierKind.COMPRESSOR
        and air.degc is not None
        and air.degc.value < LIMITS["compressor_degc"]
    )
    causes = ("dehumidifier_off", "tank_full", "too_wet")
    return say(
        air,
        DEHUMIDIFIER,
        kind="dehumidifier stopped",
        priority=Priority.WARNING,
        figure=Figure(rh_pct(air), round(level), "%"),
        sure=Sure.LIKELY if air.outside_heard and drying.held else Sure.POSSIBLE,
        causes=(
            *(("shore_power_lost",) if mains is Mains.GONE else ()),
            *(("compressor_cold",) if too_cold else ()),
            *causes,
            *(("shore_power_lost",) if mains is Mains.NOT_KNOWN else ()),
        ),
        first=("restore_shore_power", "check_dehumidifier")
        if mains is Mains.GONE
        else ("check_dehumidifier", "empty_tank"),
        facts={"held_rh": round(level), "held_before": bool(drying.held), "over_h": drying.over_h},
    )


def humid(air: Air, drying: Drying, machine: Dehumidifier) -> Finding:
    """Say that the air stays too damp though something dries it."""
    return say(
        air,
        air.space.id,
        kind="humid",
        priority=drying.humid or Priority.CAUTION,
        figure=Figure(rh_pct(air), round(machine.hold_below_rh), "%"),
        sure=Sure.POSSIBLE,
        causes=("too_wet", "hatch_open", "machine_too_small"),
        first=("close_hatches", "find_water", "check_dehumidifier"),
        facts={"hold_below_rh": round(machine.hold_below_rh)},
    )


def heated(air: Air, heating: Heating, machine: Dehumidifier | None) -> Finding:
    """Say that she is kept warm and nothing dries her."""
    return say(
        air,
        air.space.id,
        kind="heat without drying",
        priority=Priority.CAUTION,
        figure=Figure(_surface_rh(air), LIMITS["mould_rh"], "%"),
        sure=Sure.POSSIBLE,
        causes=(*(() if machine is None else ("dehumidifier_off",)), "heat_alone", "closed_too_tight", "water_inside"),
        first=("check_dehumidifier", "find_water", "open_vents")
        if machine is not None
        else ("find_water", "open_vents", "fit_dehumidifier"),
        facts={"warmer_k": round(heating.warmer_k), "heated_h": heating.hours},
    )


def mouldy(air: Air, priority: Priority) -> Finding:
    """Say that mould is near on the coldest surface, or has begun there."""
    growth = air.growth
    begun = growth.mould.index >= LIMITS["mould_index"]
    low, high = growth.days_low, growth.days_high
    doubtful = growth.mould.unheard_h > growth.heard_h / 4
    return say(
        air,
        air.space.id,
        kind="mould",
        priority=priority,
        figure=Figure(round(growth.mould.index, 2), LIMITS["mould_index"], "index"),
        harm=None if low is None else TimeToHarm(low * _DAY_S, None if high is None else high * _DAY_S),
        sure=Sure.LIKELY if begun and not doubtful else Sure.POSSIBLE,
        causes=("closed_too_tight", "water_inside", "wet_gear"),
        first=("look_for_mould", "open_vents", "find_water", "lift_cushions")
        if begun
        else ("open_vents", "find_water", "lift_cushions"),
        facts={
            "begun": begun,
            "days_low": None if low is None else round(low),
            "days_high": None if high is None else round(high),
            "unheard_h": round(growth.mould.unheard_h),
        },
    )


def condensing(air: Air) -> Finding:
    """Say that the coldest surface is wet for too long."""
    surface = air.surface
    return say(
        air,
        air.space.id,
        kind="condensation",
        priority=Priority.CAUTION,
        figure=Figure(surface.wet_h, LIMITS["wet_hours"], "h"),
        sure=Sure.POSSIBLE,
        causes=("closed_too_tight", "water_inside", "wet_gear"),
        first=("open_vents", "find_water", "lift_cushions"),
        facts={
            "wet_h": surface.wet_h,
            "known_h": surface.known_h,
            "dew_degc": None if surface.dew_degc is None else round(surface.dew_degc, 1),
        },
    )


def not_known(air: Air) -> Finding:
    """Say that it is not known whether the surface is wet, and for want of what."""
    if not air.heard:
        cause, first = "no_air_heard", "read_hygrometer"
    elif not air.outside_recorded:
        cause, first = "no_outside_sensor", "fit_outside_sensor"
    else:
        cause, first = "no_outside_heard", "read_hygrometer"
    return say(
        air,
        air.space.id,
        kind="not known",
        priority=Priority.CAUTION,
        figure=Figure(None, LIMITS["wet_hours"], "h"),
        sure=Sure.NOT_KNOWN,
        causes=(cause,),
        first=(first,),
        never=(),
    )


def unknown_drying(air: Air) -> Finding:
    """Say that it is not known whether the dehumidifier dries its space."""
    return say(
        air,
        DEHUMIDIFIER,
        kind="drying not known",
        priority=Priority.CAUTION,
        figure=Figure(None, None, "%"),
        sure=Sure.NOT_KNOWN,
        causes=("no_air_heard",),
        first=("check_dehumidifier",),
        never=(),
    )


def say(
    air: Air,
    subject: str,
    *,
    kind: str,
    priority: Priority,
    figure: Figure,
    sure: Sure,
    causes: tuple[str, ...],
    first: tuple[str, ...],
    never: tuple[str, ...] = ("no_portable_heater",),
    harm: TimeToHarm | None = None,
    facts: dict[str, float | str | bool | None] | None = None,
) -> Finding:
    """Make a finding of one space: what all its kinds have in common."""
    sensors = (air.space.humidity_sensor, air.space.temperature_sensor)
    heard = zip(sensors, (air.rh, air.degc), strict=True)
    return Finding(
        rule=RULE,
        subject=subject,
        kind=kind,
        priority=priority,
        figure=figure,
        harm=harm,
        sure=sure,
        causes=causes,
        first=first,
        never=never,
        rests_on=tuple(Seen(sensor, h.at_ms, h.value) for sensor, h in heard if h is not None),
        facts={"name": air.space.name, "rh": rh_pct(air), **_degrees(air), **_coldest(air), **(facts or {})},
        on_delay_ms=LIMITS.ms("on_delay"),
        off_delay_ms=LIMITS.ms("off_delay"),
    )


def rh_pct(air: Air) -> float | None:
    """Give the humidity of its air, None where it was never heard."""
    return None if air.rh is None else round(air.rh.value)


def _degrees(air: Air) -> dict[str, float | str | bool | None]:
    inside, outside = air.degc, air.outside
    known = air.rh is not None and inside is not None and outside is not None
    facts: dict[str, float | str | bool | None] = {
        "t_degc": None if inside is None else round(inside.value, 1),
        "outside_degc": None if outside is None else round(outside.value, 1),
        "inside_g_per_kg": None,
        "outside_most_g_per_kg": None,
    }
    if known and air.rh is not None and inside is not None and outside is not None:
        facts["inside_g_per_kg"] = round(_G_PER_KG * mixing_ratio(within_degc(inside.value), air.rh.value), 1)
        facts["outside_most_g_per_kg"] = round(_G_PER_KG * mixing_ratio(within_degc(outside.value), 100.0), 1)
    return facts


def _coldest(air: Air) -> dict[str, float | str | bool | None]:
    surface_degc = air.surface.surface_degc
    return {
        "surface_degc": None if surface_degc is None else round(surface_degc, 1),
        "surface_rh": _surface_rh(air),
        "mould_index": round(air.growth.mould.index, 2),
    }


def _surface_rh(air: Air) -> float | None:
    return None if air.surface.surface_rh is None else round(air.surface.surface_rh)
