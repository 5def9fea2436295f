"""What the score asks where water comes in: by how much it comes."""

from collections.abc import Iterator

from monitor.model.equipment import Bilge
from monitor.model.scale import Priority
from monitor.model.vessel import Mode
from simulator.score.case import DAY_MS, Case
from simulator.score.episodes import Episode
from simulator.score.rows import (
    DRIP,
    FAST_FLOAT,
    FAST_HARM,
    LARGE_DRIP,
    OTHER_HARM,
    SLOW_HARM,
    SLOW_RISE,
    SMALL_DRIP,
    Row,
)
from simulator.truth import Cause, Harm, HarmKind

FAST_L_MIN = 5.0
SLOW_L_H = 0.5
DRIP_DROPS_MIN, LARGE_DROPS_MIN = 20.0, 25.0
_WATER_HARMS = (HarmKind.STARTER, HarmKind.TERMINALS, HarmKind.SOLE)
_AFLOAT = {Mode.AFLOAT_LAID_UP, Mode.FIRST_24_H_AFLOAT}


def inflows(case: Case) -> Iterator[tuple[Episode, set[str]]]:
    """Ask for every inflow of half a litre an hour and more, and name the bilge's sensors."""
    for cause in case.causes():
        flow = flow_l_h(cause)
        if flow is None or flow < SLOW_L_H or case.record.mode is Mode.ASHORE_BUNG_OUT:
            continue
        bilge = _bilge_of(case, cause)
        fast = flow >= 60 * FAST_L_MIN
        if fast and case.record.mode not in _AFLOAT:
            continue
        sensors = {s for s in (bilge.level_sensor, bilge.float_sensor) if s is not None}
        harm_ms = _first_harm_ms(case, cause, bilge)
        if harm_ms is not None:
            yield _episode(case, cause, bilge, FAST_HARM if fast else SLOW_HARM, cause.begins_ms, harm_ms), sensors
        subjects = {bilge.id, bilge.float_sensor if fast else bilge.level_sensor} - {None}
        seen_by = bilge.float_sensor if fast else bilge.level_sensor
        kind = "float up" if fast else "20 mm risen"
        mark = case.mark(kind, {s for s in subjects if s is not None}, cause.begins_ms, case.end_of(cause))
        if mark is not None and seen_by is not None:
            yield _episode(case, cause, bilge, FAST_FLOAT if fast else SLOW_RISE, mark.at_ms), sensors


def drips(case: Case) -> Iterator[tuple[Episode, set[str]]]:
    """Ask for every gland that drips, and name the bilge's sensors."""
    for cause in case.causes():
        drops = cause.facts.get("drops_per_min")
        if drops is not None:
            bilge = _bilge_of(case, cause)
            row = _drip_row(float(drops))
            sensors = {s for s in (bilge.level_sensor, bilge.float_sensor) if s is not None}
            yield _episode(case, cause, bilge, row, cause.begins_ms), sensors


def other_water(case: Case) -> Iterator[tuple[Episode, set[str]]]:
    """Ask for what water first reaches in a bilge that no inflow of a stated size fills: by rain, burst or drip."""
    flows = [c for c in case.causes() if (flow_l_h(c) or 0.0) >= SLOW_L_H]
    for bilge in case.record.bilges:
        told_by = [c for c in flows if _bilge_of(case, c).id == bilge.id]
        sensors = {s for s in (bilge.level_sensor, bilge.float_sensor) if s is not None}
        first: Harm | None = None
        for harm in sorted(case.harms(*_WATER_HARMS), key=lambda h: h.at_ms):
            if harm.subject != bilge.id or (first is not None and harm.at_ms <= first.at_ms + DAY_MS):
                continue
            if any(c.begins_ms < harm.at_ms <= case.end_of(c) + DAY_MS for c in told_by):
                continue
            first = harm
            yield (
                Episode(
                    row=OTHER_HARM.name,
                    vessel=harm.vessel,
                    keys=(("bilge", bilge.id),),
                    begins_ms=case.begins_ms,
                    due_ms=harm.at_ms,
                    until_ms=harm.at_ms,
                ),
                sensors,
            )


def _drip_row(drops_per_min: float) -> Row:
    if drops_per_min < DRIP_DROPS_MIN:
        return SMALL_DRIP
    return DRIP if drops_per_min <= LARGE_DROPS_MIN else LARGE_DRIP


def flow_l_h(cause: Cause) -> float | None:
    """Give what a cause lets in, litres an hour; None where it is no inflow, or a drip that is counted in drops."""
    if "drops_per_min" in cause.facts:
        return None
    if "litres_min" in cause.facts:
        return 60 * float(cause.facts["litres_min"])
    return float(cause.facts["litres_h"]) if "litres_h" in cause.facts else None


def _episode(case: Case, cause: Cause, bilge: Bilge, row: Row, begins_ms: int, due_ms: int | None = None) -> Episode:
    return Episode(
        row=row.name,
        vessel=cause.vessel,
        keys=(("bilge", bilge.id),),
        begins_ms=begins_ms,
        due_ms=due_ms,
        until_ms=case.end_of(cause) if due_ms is None else due_ms,
        least=Priority.ALARM if row is FAST_FLOAT else Priority.WARNING,
        target_s=row.target_s,
        from_cause=begins_ms == cause.begins_ms and due_ms is None,
    )


def _first_harm_ms(case: Case, cause: Cause, bilge: Bilge) -> int | None:
    # What came in may reach something after the leak was stopped, where another one goes on: a day bounds it.
    until_ms = case.end_of(cause) + DAY_MS
    times = (
        h.at_ms for h in case.harms(*_WATER_HARMS) if h.subject == bilge.id and cause.begins_ms < h.at_ms <= until_ms
    )
    return min(times, default=None)


def _bilge_of(case: Case, cause: Cause) -> Bilge:
    """Find the bilge that a cause fills: its subject, the one it names, the one it explains alerts of, or the only one.

    Raises:
        ValueError: where none of these says which.
    """
    bilges = {b.id: b for b in case.record.bilges}
    named = [cause.subject, str(cause.facts.get("bilge", ""))]
    named += [e.subject for e in cause.explains if e.rule == "bilge" and e.subject is not None]
    for name in named:
        if name in bilges:
            return bilges[name]
    if len(bilges) == 1:
        return next(iter(bilges.values()))
    raise ValueError(
        f"{cause.vessel}: {cause.kind} ({cause.subject}) does not say which bilge it fills; "
        "name it in facts['bilge'], or in an Explains of rule 'bilge'"
    )
