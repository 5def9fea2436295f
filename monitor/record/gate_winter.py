"""What the winter put on the spring list: what was ever below its protection, batteries, water left unexplained."""

from collections.abc import Iterable, Iterator, Mapping

from monitor.model.alert import Alert
from monitor.model.vessel import Vessel
from monitor.record.gate_item import GateItem, Stage
from monitor.rules.frost_point import system_point

_FROST, _BATTERY, _BILGE = "frost", "battery", "bilge"
_FROZE = frozenset({"thaw", "froze unheard"})
_NOT_WATER = frozenset({"not known", "bung out"})


def winters(record: Vessel, alerts: Iterable[Alert], lowest_degc: Mapping[str, float]) -> Iterator[GateItem]:
    """Give what the winter asks for.

    Args:
        record: the valid record.
        alerts: the winter's, also those that ended.
        lowest_degc: the lowest believable reading since lay-up of each thermometer, by sensor id.
    """
    told = sorted(alerts, key=lambda a: (a.opened_ms, a.id))
    yield from _systems(record, told, lowest_degc)
    yield from _batteries(record, told)
    bilges = {bilge.id: bilge.name for bilge in record.bilges}
    for alert in told:
        if alert.rule == _BILGE and alert.is_open and alert.finding.kind not in _NOT_WATER:
            name = bilges.get(alert.subject, alert.subject)
            what = f"{name}: find where the water came from, and close the alert aboard"
            yield GateItem(f"bilge-{alert.id}", what, Stage.LIFT, "A bilge alert is open", alert.id)


def _froze(alert: Alert) -> bool:
    facts = alert.finding.facts
    return alert.rule == _FROST and (
        alert.finding.kind in _FROZE or bool(facts.get("frozen")) or facts.get("froze_ms") is not None
    )


def _systems(record: Vessel, alerts: list[Alert], lowest_degc: Mapping[str, float]) -> Iterator[GateItem]:
    """Give each system that was ever below its protection, by an alert or by the readings themselves."""
    for system in record.liquid_systems:
        alert = next((a for a in alerts if a.subject == system.id and _froze(a)), None)
        sensor = system.sensor or record.outside_sensor
        point = system_point(system)
        lowest = None if sensor is None else lowest_degc.get(sensor)
        below = point is not None and lowest is not None and lowest <= point[1]
        if alert is None and not below:
            continue
        why = "A frost alert of this winter"
        if below and point is not None and lowest is not None:
            by = "its thermometer" if system.sensor is not None else "the air outside"
            why = f"Lowest {lowest:.1f} °C by {by}; protected to {point[1]:.1f} °C"
        what = f"{system.name} was below its protection: inspect it, pressure-test it"
        yield GateItem(f"froze-{system.id}", what, Stage.LIFT, why, "" if alert is None else alert.id)


def _batteries(record: Vessel, alerts: list[Alert]) -> Iterator[GateItem]:
    for battery in record.batteries:
        alert = next((a for a in alerts if a.subject == battery.id and _may_have_frozen(a)), None)
        if alert is not None:
            what = (
                f"{battery.name} may have frozen: look at its case, test it; charge it only if it is whole and thawed"
            )
            yield GateItem(f"battery-{battery.id}", what, Stage.LIFT, "An alert of this winter", alert.id)


def _may_have_frozen(alert: Alert) -> bool:
    return _froze(alert) or (alert.rule == _BATTERY and bool(alert.finding.facts.get("maybe_frozen")))
