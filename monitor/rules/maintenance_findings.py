"""What the maintenance rule says: of the record, of what has a date, and of visits. All of it is a caution."""

from collections.abc import Iterator
from datetime import date, timedelta

from monitor.model.equipment import Battery, Bilge, Inhibitor, LiquidSystem, SafetyItem, SystemKind, SystemState
from monitor.model.finding import Figure, Finding
from monitor.model.scale import Priority, Sure
from monitor.model.vessel import Mode, Vessel
from monitor.rules.maintenance_limits import LIMITS

RULE = "maintenance"
VISIT = "visit"
_COOLED = {SystemKind.CLOSED_COOLING, SystemKind.HEATING}
_YEAR_D = 365.25


def of_systems(record: Vessel, today: date) -> Iterator[Finding]:
    """Say of each liquid system the first that is so: not proven, tested before it was changed, or past its life."""
    for system in record.liquid_systems:
        finding = _unproven(system) or _tested_before_change(system) or _coolant_old(system, today)
        if finding is not None:
            yield finding


def of_the_unseen(record: Vessel) -> Iterator[Finding]:
    """Say which bilges and batteries nobody can see into."""
    yield from (_bilge_unseen(b) for b in record.bilges if b.level_sensor is None and b.float_sensor is None)
    yield from (_battery_unseen(b) for b in record.batteries if b.voltage_sensor is None)


def of_safety_kit(record: Vessel, today: date) -> Iterator[Finding]:
    """Say which safety kit is past its date."""
    yield from (_kit_due(item, today) for item in record.safety_kit if today >= item.due)


def visit_interval_d(record: Vessel) -> float:
    """Give how many days may lie between two visits: as the record says, else by where she lies."""
    if record.visit_every_days is not None:
        return float(record.visit_every_days)
    return LIMITS["visit_afloat" if record.mode is Mode.AFLOAT_LAID_UP else "visit_ashore"]


def of_visits(record: Vessel, last: date, thawed: date | None, today: date) -> Finding | None:
    """Say that a visit is overdue, by its interval or since a thaw; the last one was on the day ``last``."""
    interval_d = visit_interval_d(record)
    since_d = (today - last).days
    if since_d > interval_d:
        return _visit(record, "visit overdue", since_d, interval_d, last)
    if thawed is not None and last < thawed and today - thawed > timedelta(days=LIMITS["visit_after_thaw"]):
        return _visit(record, "visit after thaw", (today - thawed).days, LIMITS["visit_after_thaw"], last)
    return None


def _visit(record: Vessel, kind: str, since_d: int, limit_d: float, last: date) -> Finding:
    afloat = record.mode is Mode.AFLOAT_LAID_UP
    return _say(
        VISIT,
        kind=kind,
        figure=Figure(since_d, limit_d, "d"),
        causes=("nobody_came", "not_written_down"),
        first=("go_aboard", "look_at_lines" if afloat else "look_at_props", "write_visit"),
        facts={"name": "Visit", "days": since_d, "afloat": afloat, "last": last.isoformat()},
    )


def _unproven(system: LiquidSystem) -> Finding | None:
    unprobed = [d.name for d in system.drains if not d.probed] if system.state is SystemState.DRAINED else []
    if system.state is not SystemState.NOT_PROVEN and not unprobed:
        return None
    return _say(
        system.id,
        kind="not proven",
        figure=Figure(None, None, ""),
        causes=("drain_not_probed",) if unprobed else ("nothing_written",),
        first=("prove_system", "write_state"),
        never=("no_trust_in_unproven",),
        facts={"name": system.name, "drains": ", ".join(unprobed)},
    )


def _tested_before_change(system: LiquidSystem) -> Finding | None:
    if system.tested is None or system.changed is None or system.tested >= system.changed:
        return None
    return _say(
        system.id,
        kind="tested before change",
        figure=Figure((system.changed - system.tested).days, 0.0, "d"),
        causes=("not_tested_since", "dates_swapped"),
        first=("test_coolant", "write_state"),
        never=("no_trust_in_unproven",),
        facts={"name": system.name, "tested": system.tested.isoformat(), "changed": system.changed.isoformat()},
    )


def _coolant_old(system: LiquidSystem, today: date) -> Finding | None:
    if system.changed is None or system.kind not in _COOLED or system.state is SystemState.DRAINED:
        return None
    life = LIMITS["organic_acid" if system.inhibitor is Inhibitor.ORGANIC_ACID else "inorganic"]
    age = (today - system.changed).days / _YEAR_D
    if age <= life:
        return None
    return _say(
        system.id,
        kind="coolant old",
        figure=Figure(round(age, 1), life, "years"),
        causes=("inhibitors_used_up",),
        first=("change_coolant", "write_state"),
        never=("glycol_poison",),
        facts={
            "name": system.name,
            "changed": system.changed.isoformat(),
            "life_years": round(life),
            "inhibitor_known": system.inhibitor is not None,
        },
    )


def _kit_due(item: SafetyItem, today: date) -> Finding:
    return _say(
        item.id,
        kind="kit due",
        figure=Figure((today - item.due).days, 0.0, "d"),
        causes=("date_passed",),
        first=("service_kit", "write_date"),
        facts={"name": item.name, "due": item.due.isoformat()},
    )


def _bilge_unseen(bilge: Bilge) -> Finding:
    return _say(
        bilge.id,
        kind="bilge unseen",
        figure=Figure(None, None, ""),
        causes=("no_bilge_sensor",),
        first=("fit_bilge_sensor", "look_into_bilge"),
        facts={"name": bilge.name},
    )


def _battery_unseen(battery: Battery) -> Finding:
    return _say(
        battery.id,
        kind="battery unseen",
        figure=Figure(None, None, ""),
        causes=("no_meter",),
        first=("fit_meter", "measure_volts"),
        facts={"name": battery.name},
    )


def _say(
    subject: str,
    *,
    kind: str,
    figure: Figure,
    causes: tuple[str, ...],
    first: tuple[str, ...],
    facts: dict[str, int | float | str | bool | None],
    never: tuple[str, ...] = (),
) -> Finding:
    return Finding(
        rule=RULE,
        subject=subject,
        kind=kind,
        priority=Priority.CAUTION,
        figure=figure,
        harm=None,
        sure=Sure.CERTAIN,
        causes=causes,
        first=first,
        never=never,
        facts=facts,
    )
