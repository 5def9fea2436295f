"""What goes wrong, each kind in its own words: whom it befalls, when, how badly, and which rule ought to notice."""

from typing import Annotated, get_args

from pydantic import Field

from simulator.faults.air import DehumidifierStops
from simulator.faults.electric import ChargerTrips, HiddenLoad, ShorePowerLost
from simulator.faults.fault import FaultPlan
from simulator.faults.hearing import GatewaySilent, SensorSticks
from simulator.faults.liquid import WaterLeftInPipes, WeakCoolant
from simulator.faults.water import GlandDrip, SeacockPassing

AnyFault = (
    WeakCoolant
    | WaterLeftInPipes
    | GlandDrip
    | SeacockPassing
    | HiddenLoad
    | ChargerTrips
    | DehumidifierStops
    | ShorePowerLost
    | GatewaySilent
    | SensorSticks
)
Fault = Annotated[AnyFault, Field(discriminator="kind")]

FAULTS: dict[str, type[FaultPlan]] = {get_args(t.model_fields["kind"].annotation)[0]: t for t in get_args(AnyFault)}
"""Every kind of fault by its word."""


def fault_type(kind: str) -> type[FaultPlan]:
    """Give the fault of a kind.

    Raises:
        ValueError: where there is none, naming those there are.
    """
    if kind not in FAULTS:
        raise ValueError(f"there is no fault {kind!r}; choose one of {', '.join(sorted(FAULTS))}")
    return FAULTS[kind]
