"""A boat as she truly is, and where her thermometers hang."""

from enum import StrEnum

from pydantic import Field

from monitor.model.equipment import Degc, Document, Slug
from monitor.model.vessel import Vessel
from simulator.bank_plan import BatteryPlan
from simulator.bilge import BilgePlan
from simulator.dehumidifier import DehumidifierPlan
from simulator.heat import HeatPlan
from simulator.moisture import AirPlan


class Place(StrEnum):
    """Where a thermometer truly hangs."""

    OUTSIDE = "outside"
    CABIN = "cabin"
    HULL_SIDE = "hull side"
    ENGINE_SPACE = "engine space"
    BLOCK = "block"
    WATER = "water"


# Where thermometers hang whose place a plan does not say.
USUAL_PLACES = {
    "outside-air": Place.OUTSIDE,
    "cabin": Place.CABIN,
    "galley": Place.HULL_SIDE,
    "engine-space": Place.ENGINE_SPACE,
}


# A charger whose size nobody says; common practice.
USUAL_CHARGER_A = 20.0
# A humidistat is set so far below what the record wants held (invented).
SET_BELOW_RH = 10.0


class BoatPlan(Document):
    """A boat as she truly is, beside her record: what is not said has the usual value.

    ``freezes_degc`` says where treated systems truly freeze; what it leaves out freezes at its tested point.
    """

    vessel: Slug
    heat: HeatPlan = HeatPlan()
    air: AirPlan = AirPlan()
    batteries: dict[Slug, BatteryPlan] = Field(default_factory=dict)
    bilges: dict[Slug, BilgePlan] = Field(default_factory=dict)
    freezes_degc: dict[Slug, Degc] = Field(default_factory=dict)
    places: dict[Slug, Place] = Field(default_factory=dict)


def usual_plan(record: Vessel) -> BoatPlan:
    """Give a boat as boats usually are, with the charger and the dehumidifier that her record says she has."""
    machine = record.dehumidifier
    dried = None
    if machine is not None and machine.running:
        dried = DehumidifierPlan(hold_rh=machine.hold_below_rh - SET_BELOW_RH, kind=machine.kind)
    return BoatPlan(
        vessel=record.id,
        air=AirPlan(dehumidifier=dried) if dried is None else AirPlan(changes_per_h=0.2, dehumidifier=dried),
        batteries={b.id: BatteryPlan(charger_a=USUAL_CHARGER_A if b.charger else None) for b in record.batteries},
    )
