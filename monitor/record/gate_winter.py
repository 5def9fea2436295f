"""What the winter put on the spring list: what was ever below its protection, batteries, water left unexplained."""

from collections.abc import Iterable, Iterator, Sequence

from monitor.model.alert import Alert
from monitor.model.views import StoredRecord
from monitor.record.gate_item import GateItem, Stage
from monitor.record.gate_stood import Cold

_FROST, _BATTERY, _BILGE = "frost", "battery", "bilge"
_FROZE = frozenset({"thaw", "froze unheard"})
_NOT_WATER = frozenset({"not known", "bung out"})


def winters(versions: Sequence[StoredRecord], alerts: Iterable[Alert], cold: Iterable[Cold]) -> Iterator[GateItem]:
    """Give what the winter asks for, also of what has been taken out of her record since.

    Args:
        versions: the winter's, oldest first.
        alerts: the winter's, also those that ended.
        cold: how cold each system was, as it stood.
    """
    told = sorted(alerts, key=lambda a: (a.opened_ms, a.id))
    yield from _systems(versions, told, list(cold))
    yield from _batteries(versions, told)
    valid = {bilge.id for bilge in versions[-1].vessel.bilges}
    names = {bilge.id: bilge.name for v in versions for bilge in v.vessel.bilges}
    for alert in told:
        water = alert.rule == _BILGE and alert.finding.kind not in _NOT_WATER
        # Where its bilge was taken out of the record, an alert ends though nobody looked.
        unseen = alert.is_open or (alert.subject not in valid and alert.confirmed_ms is None)
        if water and unseen:
            why = "A bilge alert is open" if alert.is_open else "A bilge alert ended, and nobody was aboard for it"
            what = f"{names.get(alert.subject, alert.subject)}: find where the water came from"
            what += ", and close the alert aboard" if alert.is_open else ""
            yield GateItem(f"bilge-{alert.id}", what, Stage.LIFT, why, alert.id, alert.opened_ms)


def _froze(alert: Alert) -> bool:
    facts = alert.finding.facts
    return alert.rule == _FROST and (
        alert.finding.kind in _FROZE or bool(facts.get("frozen")) or facts.get("froze_ms") is not None
    )


def _systems(versions: Sequence[StoredRecord], alerts: list[Alert], cold: list[Cold]) -> Iterator[GateItem]:
    """Give each system that was ever below its protection, by an alert or by the readings themselves."""
    names = {system.id: system.name for v in versions for system in v.vessel.liquid_systems}
    for key, name in names.items():
        alert = next((a for a in reversed(alerts) if a.subject == key and _froze(a)), None)
        below = [one for one in cold if one.stood.system == key and one.last_ms is not None]
        if alert is None and not below:
            continue
        # Who inspected it before it was cold again did not see what came of that.
        since_ms = max([0 if alert is None else alert.opened_ms, *(one.last_ms or 0 for one in below)])
        why = "; ".join(_why(one) for one in below) or "A frost alert of this winter"
        surely = alert is not None or any(one.lowest_degc <= one.stood.freeze_degc for one in below)
        what = f"{name} {'was' if surely else 'may have been'} below its protection: inspect it, pressure-test it"
        yield GateItem(f"froze-{key}", what, Stage.LIFT, why, "" if alert is None else alert.id, since_ms)


def _why(one: Cold) -> str:
    stood = one.stood
    by = "the air outside" if stood.stands_in else "its thermometer"
    give = f", give or take {stood.error_k:.1f} °C of its tester" if one.lowest_degc > stood.freeze_degc else ""
    return f"Lowest {_tenths(one.lowest_degc)} by {by}; {_to(stood.how)} {_tenths(stood.freeze_degc)}{give}"


def _tenths(degc: float) -> str:
    return f"{round(degc, 1) + 0.0:.1f} °C"  # no minus before nought


def _to(how: str) -> str:
    return "protected to" if how == "treated" else f"{how}, so it freezes at"


def _batteries(versions: Sequence[StoredRecord], alerts: list[Alert]) -> Iterator[GateItem]:
    names = {battery.id: battery.name for v in versions for battery in v.vessel.batteries}
    for key, name in names.items():
        alert = next((a for a in reversed(alerts) if a.subject == key and _may_have_frozen(a)), None)
        if alert is not None:
            what = f"{name} may have frozen: look at its case, test it; charge it only if it is whole and thawed"
            yield GateItem(f"battery-{key}", what, Stage.LIFT, "An alert of this winter", alert.id, alert.opened_ms)


def _may_have_frozen(alert: Alert) -> bool:
    return _froze(alert) or (alert.rule == _BATTERY and bool(alert.finding.facts.get("maybe_frozen")))
