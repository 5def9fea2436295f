"""Every kind of fault: it changes what is said from its beginning on, and nothing before; its truth is noted."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from pydantic import TypeAdapter

from monitor.model.scale import Priority
from monitor.model.vessel import Mode, Vessel
from simulator.faults import FAULTS, Fault
from simulator.faults.fault import FaultPlan
from simulator.plan import WinterPlan
from simulator.truth import TruthLog
from simulator.winter import Message, RecordChanged, Winter
from simulator.yard import at_cadence, sample_boats

FROM = datetime(2013, 12, 1, tzinfo=UTC)
BEGINS = FROM + timedelta(days=4, hours=15)
ENDS = BEGINS + timedelta(hours=30)
TO = FROM + timedelta(days=8)
FIGURES: dict[str, dict[str, Any]] = {
    "weak coolant": {"tested_degc": -3.0},
    "gland drip": {"drops_per_min": 40},
    "seacock passing, hose off": {"bore_mm": 10},
    "hose weeps": {"litres_h": 5.0},
    "deck leaks": {"leak_m2": 2.0},
    "drain blocked": {"leak_m2": 2.0},
    "condensate hose off": {"litres_day": 5.0},
    "hidden load": {"load_ma": 500.0},
    "battery left low": {"charged": 0.5},
    "sensor drifts": {"per_day": 1.0},
    "sensor spikes": {"share": 0.2},
    "wind heels her": {"at_10_m_s_m": 0.1},
    "wash-down": {"leak_m2": 1.0},
    "takes the ground": {"draught_m": 2.5},
    "sensors swapped between boats": {"other": "quiet-tuesday"},
}
# What the record or the liquid shows, and no sensor says at once.
UNSEEN_AT_FIRST = {"weak coolant", "water left in pipes", "drain not probed", "water hidden in pipes"}
# A float that is held where it is says nothing else until water comes.
NEEDS_WATER = {"float iced", "takes the ground", "wind heels her"}
ANY: TypeAdapter[FaultPlan] = TypeAdapter(Fault)


def _victim(kind: type[FaultPlan]) -> tuple[Vessel, dict[str, str]]:
    for record, _ in sample_boats().values():
        if record.id not in {"quiet-tuesday", "barley-moon"} and (ways := kind.ways(record)):
            return record, ways[0]
    # Only a boat afloat with a dehumidifier has a condensate hose into her bilge, and the yard has none.
    record = sample_boats()["oat-harvest"][0].model_copy(update={"mode": Mode.ASHORE_BUNG_IN})
    return record, kind.ways(record)[0]


def _winter(record: Vessel, faults: tuple[FaultPlan, ...]) -> Winter:
    plan = WinterPlan(
        name="a week",
        seed=8,
        begins=FROM,
        ends=TO,
        weather={"source": "generated", "climate": "mild and wet"},  # type: ignore[arg-type]
        faults=faults,  # type: ignore[arg-type]
    )
    truths = tuple(plan for _, plan in sample_boats().values() if plan.vessel in {record.id, "quiet-tuesday"})
    records = [record, sample_boats()["quiet-tuesday"][0]]
    return Winter(plan.model_copy(update={"boats": truths}), [at_cadence(v, 600) for v in records], 600).alone(0)


def _said(winter: Winter) -> tuple[list[Message], TruthLog]:
    log = TruthLog()
    return list(winter.stream(log)), log


def _until(messages: list[Message], at: datetime) -> list[Message]:
    at_ms = round(at.timestamp() * 1000)
    return [m for m in messages if m.at_ms <= at_ms]


def _fault(kind: str, way: dict[str, str], vessel: str) -> FaultPlan:
    return ANY.validate_python(
        {"kind": kind, "vessel": vessel, "begins": BEGINS, "ends": ENDS, **way, **FIGURES.get(kind, {})}
    )


@pytest.mark.parametrize("kind", sorted(FAULTS))
def test_a_fault_changes_what_is_said_after_it_begins_and_nothing_before(kind: str) -> None:
    record, way = _victim(FAULTS[kind])
    if kind in NEEDS_WATER:
        water = ANY.validate_python(
            {
                "kind": "gland drip",
                "vessel": record.id,
                "subject": record.bilges[0].id,
                "begins": FROM,
                "drops_per_min": 23,
            }
        )
        before: tuple[FaultPlan, ...] = (water,)
    else:
        before = ()
    fine, _ = _said(_winter(record, before))
    fault = _fault(kind, way, record.id)
    amended = fault.amend(record)
    told, log = _said(_winter(amended, (*before, fault)))
    assert _until(told, BEGINS) == _until(fine, BEGINS)
    (cause,) = [c for c in log.causes if c.kind == kind]
    assert (cause.begins_ms, cause.ends_ms) == (fault.begins_ms, fault.ends_ms)
    assert all(isinstance(e.most, Priority) for e in cause.explains)
    if kind in UNSEEN_AT_FIRST:
        assert (amended != record) == (kind != "water hidden in pipes")
    else:
        assert told != fine


def test_a_hoist_is_written_into_the_record_and_back() -> None:
    record, way = _victim(FAULTS["hoist and re-zero"])
    told, _ = _said(_winter(record, (_fault("hoist and re-zero", way, record.id),)))
    modes = [m.record.mode.value for m in told if isinstance(m, RecordChanged)]
    assert modes == ["in slings", "afloat laid up"]


def test_an_unknown_kind_is_answered_with_those_there_are() -> None:
    from simulator.faults import fault_type

    with pytest.raises(ValueError, match=r"no fault 'bad luck'; choose one of battery left low, battery room swap"):
        fault_type("bad luck")
