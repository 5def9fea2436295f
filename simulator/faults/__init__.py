"""What goes wrong, each kind in its own words: whom it befalls, when, how badly, and which rule ought to notice."""

from typing import Annotated, get_args

from pydantic import Field

from simulator.faults.air import DehumidifierStops
from simulator.faults.electric import (
    BatteryLeftLow,
    ChargerTrips,
    HiddenLoad,
    MeterEmpty,
    NightCuts,
    ResidualCurrentTrips,
    ShorePowerLost,
    WrongLeadPulled,
)
from simulator.faults.fault import FaultPlan
from simulator.faults.harmless import (
    BatteryRoomSwap,
    EngineRun,
    FloatFouled,
    FloatIced,
    HatchOpen,
    HoistAndRezero,
    HumidistatRests,
    LoadTest,
    TakesTheGround,
    WashDown,
    WindHeels,
)
from simulator.faults.hearing import (
    ClockDrifts,
    ClockWrong,
    GatewayReboots,
    GatewaySilent,
    LinkLost,
    PacksLate,
    PacksTwice,
    RetainedOnReconnect,
)
from simulator.faults.instruments import (
    HumidityFrosted,
    ReadingsLost,
    SensorDies,
    SensorDrifts,
    SensorSpikes,
    SensorsSwapped,
    SensorSticks,
)
from simulator.faults.liquid import DrainNotProbed, WaterHidden, WaterLeftInPipes, WeakCoolant
from simulator.faults.water import CondensateHoseOff, DeckLeaks, DrainBlocked, GlandDrip, HoseWeeps, SeacockPassing

AnyFault = (
    WeakCoolant
    | WaterLeftInPipes
    | DrainNotProbed
    | WaterHidden
    | GlandDrip
    | SeacockPassing
    | HoseWeeps
    | DeckLeaks
    | DrainBlocked
    | CondensateHoseOff
    | HiddenLoad
    | BatteryLeftLow
    | ChargerTrips
    | DehumidifierStops
    | ShorePowerLost
    | MeterEmpty
    | WrongLeadPulled
    | ResidualCurrentTrips
    | NightCuts
    | GatewaySilent
    | GatewayReboots
    | LinkLost
    | PacksLate
    | PacksTwice
    | RetainedOnReconnect
    | ClockWrong
    | ClockDrifts
    | SensorSticks
    | SensorDies
    | SensorDrifts
    | SensorSpikes
    | ReadingsLost
    | HumidityFrosted
    | SensorsSwapped
    | HatchOpen
    | WashDown
    | HoistAndRezero
    | TakesTheGround
    | WindHeels
    | EngineRun
    | LoadTest
    | FloatIced
    | FloatFouled
    | BatteryRoomSwap
    | HumidistatRests
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
