"""Limits as lines of a chart, from the record: what each liquid is protected to, where water reaches, half a charge."""

from collections.abc import Mapping, Sequence

from monitor.charts.panel import LimitLine
from monitor.model.equipment import Battery, Bilge, Chemistry, LiquidSystem, SystemState
from monitor.model.vessel import Vessel
from monitor.rules.frost_limits import LIMITS as FROST
from monitor.science import battery as battery_science

HALF_PCT, COOL_DEGC = 50.0, 10.0
FROST_DEGC = 0.0


def protected_to(vessel: Vessel, names: Mapping[str, str]) -> list[LimitLine]:
    """Give the temperatures that her liquids are protected to, each held against its own thermometer.

    Args:
        vessel: her record.
        names: the names of the lines, by sensor.
    """
    at: dict[float, list[LiquidSystem]] = {}
    for system in vessel.liquid_systems:
        if system.state is SystemState.TREATED and system.tested_freeze_degc is not None:
            at.setdefault(system.tested_freeze_degc, []).append(system)
        elif system.state is not SystemState.DRAINED or not all(d.probed for d in system.drains):
            at.setdefault(FROST_DEGC, []).append(system)
    made = []
    for value, systems in sorted(at.items()):
        sensors = {system.sensor or vessel.outside_sensor for system in systems}
        held = frozenset(names[sensor] for sensor in sensors if sensor is not None and sensor in names)
        what = _listed([system.name.lower() for system in systems])
        verb = "protected to" if value else "freezes at"
        made.append(LimitLine(f"{verb} {_degc(value)}: {what}", value, held, told_after_ms=FROST.ms("on_delay")))
    return made


def reaches(bilge: Bilge) -> list[tuple[str, float]]:
    """Give what water in a bilge harms first, and at which height (m)."""
    return [(f"reaches the {what}", at_m) for what, at_m in bilge.harm_heights[:1]]


def half_charged(batteries: Sequence[Battery]) -> list[LimitLine]:
    """Give the volts at which batteries at rest are half charged; those of lithium do not tell."""
    at: dict[float, list[str]] = {}
    for b in batteries:
        if b.chemistry is not Chemistry.LIFEPO4:
            kind = battery_science.Chemistry(b.chemistry.value)
            volts = round(battery_science.rested_v_from_charge(kind, HALF_PCT, COOL_DEGC, b.nominal_v), 2)
            at.setdefault(volts, []).append(b.name)
    made = []
    for volts, names in sorted(at.items()):
        whose = f"{_listed(names)}: " if len(batteries) > 1 else ""
        made.append(LimitLine(f"{whose}half charged, rested: {volts:.2f} V", volts, frozenset(names)))
    return made


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _degc(value: float) -> str:
    return f"{value:.1f} °C".replace("-", "\u2212")
