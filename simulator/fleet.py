"""A made-up fleet: as many boats as wanted, each like one of the sample boats, no two the same.

What is varied: hull and air, sizes of batteries and bilges, the coolant's tested point and what it truly is, what was
left in the batteries. All shares and spreads are invented, within common practice.
"""

from datetime import date, timedelta
from math import exp
from random import Random
from typing import Any, TypeVar

from monitor.model.equipment import Document, Drain, LiquidSystem, SystemState, Tester
from monitor.model.vessel import Mode, Vessel
from simulator.battery import BatteryPlan
from simulator.bilge import BilgePlan
from simulator.boat_plan import BoatPlan
from simulator.plan import FleetPlan
from simulator.yard import sample_boats, yard_plan

# Standard deviation of the logarithm by which figures of two like boats differ.
HULL_SPREAD, SIZE_SPREAD = 0.15, 0.25
# Tested points of sound coolant, and how many are tested by the ball (common practice: the cheaper tester).
SOUND_DEGC = (-38.0, -25.0)
BALL_SHARE = 0.25
# How far the truth may lie from a tested point: refractometer by ASTM D3321, ball tester common practice.
TESTER_OFF_K = {Tester.REFRACTOMETER: 1.0, Tester.BALL: 5.0, Tester.LABORATORY: 0.5}
# Coolant this weak is all but water.
WEAKEST_DEGC = -0.2
LEFT_CHARGED = (0.88, 1.0)
LOAD_MA = (0.0, 4.0)
# How many of those ashore stand with the bung in.
BUNG_IN_SHARE = 0.25
# How many of those on shore power have no sensor that sees it.
UNSEEN_MAINS_SHARE = 0.3

D = TypeVar("D", bound=Document)


def made_boat(plan: FleetPlan, number: int, seed: int, laid_up_before: date) -> tuple[Vessel, BoatPlan]:
    """Make one boat of a fleet: the same number and seed give the same boat, however many lie beside her.

    Args:
        plan: the fleet.
        number: which of its boats, from 0.
        seed: the winter's seed.
        laid_up_before: the day on which the winter begins.

    Returns:
        Her lay-up record, and how she truly is.
    """
    random = Random(f"{seed}/fleet/{number}")
    samples = sample_boats()
    like = random.choices(list(plan.like or samples), weights=list(plan.like.values()) or None)[0]
    sample, truth = samples[like]
    record = _later(sample, laid_up_before - yard_plan().begins.date())
    identity = f"hull-{number + 1:04d}"
    size = exp(random.gauss(0, SIZE_SPREAD))
    if record.mode is Mode.ASHORE_BUNG_OUT and random.random() < BUNG_IN_SHARE:
        record = record.model_copy(update={"mode": Mode.ASHORE_BUNG_IN})
    if record.shore_power.mains_sensor is not None and random.random() < UNSEEN_MAINS_SHARE:
        record = _without_mains_sensor(record)
    systems = tuple(_sound(system, random) for system in record.liquid_systems)
    record = record.model_copy(
        update={
            "id": identity,
            "name": f"Hull {number + 1}",
            "liquid_systems": systems,
            "batteries": tuple(
                b.model_copy(update={"capacity_ah": round(b.capacity_ah * exp(random.gauss(0, SIZE_SPREAD)), 0)})
                for b in record.batteries
            ),
            "bilges": tuple(
                b.model_copy(update={"dip_table": tuple((m, round(li * size, 2)) for m, li in b.dip_table)})
                for b in record.bilges
            ),
        }
    )
    truth = BoatPlan(
        vessel=identity,
        heat=_varied(truth.heat, random, HULL_SPREAD),
        air=_varied(truth.air, random, HULL_SPREAD, keep=("surface_factor", "start_rh")),
        batteries={b.id: _left(truth.batteries.get(b.id, BatteryPlan()), random) for b in record.batteries},
        bilges={b.id: _sized(truth.bilges.get(b.id, BilgePlan()), size) for b in record.bilges},
        freezes_degc={s.id: _truly(s, random) for s in systems if s.tested_freeze_degc is not None},
        places=truth.places,
    )
    return Vessel.model_validate(record.model_dump()), truth


def _sound(system: LiquidSystem, random: Random) -> LiquidSystem:
    if system.state is SystemState.TREATED:
        tester = Tester.BALL if random.random() < BALL_SHARE else Tester.REFRACTOMETER
        step = 3.0 if tester is Tester.BALL else 1.0
        tested = round(random.uniform(*SOUND_DEGC) / step) * step
        return system.model_copy(update={"tested_freeze_degc": tested, "tester": tester})
    if system.state is SystemState.DRAINED and all(drain.probed for drain in system.drains):
        return system
    drains = system.drains or (Drain(name="lowest point", probed=True),)
    probed = tuple(drain.model_copy(update={"probed": True}) for drain in drains)
    return system.model_copy(update={"state": SystemState.DRAINED, "drains": probed, "liquid": None})


def _truly(system: LiquidSystem, random: Random) -> float:
    tester = system.tester or Tester.BALL
    off_k = TESTER_OFF_K[tester]
    return (system.tested_freeze_degc or 0.0) + random.uniform(-off_k, off_k)


def amended(truth: BoatPlan, before: Vessel, after: Vessel) -> BoatPlan:
    """Give how she truly is after a fault was written into her record: what was weak is weak, by the tester's error."""
    tested = {s.id: s.tested_freeze_degc for s in before.liquid_systems}
    freezes = dict(truth.freezes_degc)
    for system in after.liquid_systems:
        was, now = tested.get(system.id), system.tested_freeze_degc
        if was is not None and now is not None and now != was:
            freezes[system.id] = min(now + freezes[system.id] - was, WEAKEST_DEGC)
    return truth.model_copy(update={"freezes_degc": freezes})


def _left(plan: BatteryPlan, random: Random) -> BatteryPlan:
    return plan.model_copy(
        update={
            "left_charged": 1.0 if plan.charger_a else random.uniform(*LEFT_CHARGED),
            "load_ma": plan.load_ma + random.uniform(*LOAD_MA),
        }
    )


def _sized(plan: BilgePlan, size: float) -> BilgePlan:
    return plan.model_copy(update={"shape_litres": plan.shape_litres * size})


def _varied(plan: D, random: Random, spread: float, keep: tuple[str, ...] = ()) -> D:
    changed: dict[str, Any] = {}
    for name, value in plan:
        if isinstance(value, float) and value > 0 and name not in keep:
            changed[name] = value * exp(random.gauss(0, spread))
    return plan.model_copy(update=changed)


def _without_mains_sensor(record: Vessel) -> Vessel:
    power = record.shore_power
    sensors = tuple(s for s in record.sensors if s.id != power.mains_sensor)
    proofs = tuple(p for p in record.proofs if p.sensor != power.mains_sensor)
    unseen = power.model_copy(update={"mains_sensor": None})
    return record.model_copy(update={"sensors": sensors, "proofs": proofs, "shore_power": unseen})


def _later(record: Vessel, by: timedelta) -> Vessel:
    """Move every date of a record."""

    def moved(on: date | None) -> date | None:
        return None if on is None else on + by

    taken = record.commissioned
    return record.model_copy(
        update={
            "laid_up": record.laid_up + by,
            "visits": tuple(v.model_copy(update={"on": v.on + by}) for v in record.visits),
            "safety_kit": tuple(k.model_copy(update={"due": k.due + by}) for k in record.safety_kit),
            "liquid_systems": tuple(
                s.model_copy(update={"tested": moved(s.tested), "changed": moved(s.changed)})
                for s in record.liquid_systems
            ),
            "proofs": tuple(p.model_copy(update={"at": p.at + by}) for p in record.proofs),
            "commissioned": None if taken is None else taken.model_copy(update={"at": taken.at + by}),
        }
    )
