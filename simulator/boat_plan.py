"""A boat as she truly is, and where her thermometers hang."""

from enum import StrEnum

from pydantic import Field

from monitor.model.equipment import Degc, Document, Slug
from simulator.bank_plan import BatteryPlan
from simulator.bilge import BilgePlan
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
