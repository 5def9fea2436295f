"""What a hull is made of, as heat sees it: capacities, conductances, the sun she takes up, and a heater."""

from typing import Annotated

from pydantic import Field

from monitor.model.equipment import Document, Positive

NotNegative = Annotated[float, Field(ge=0, allow_inf_nan=False)]


class HeaterPlan(Document):
    """A heater in the cabin with a thermostat. 1 kW holding 5 degC is a usual frost guard (common practice)."""

    holds_degc: Annotated[float, Field(ge=-20, le=40)] = 5.0
    most_w: Positive = 1_000.0


class HeatPlan(Document):
    """Heat capacities (kJ/K) and conductances (W/K); the defaults, a 10 m cruiser ashore, are common practice.

    A cabin's 2,000 kJ/K is 1.3 t of wood, foam and laminate; 90 W/K is 30 m2 of bare single-skin deck and topsides.
    A block's 250 kJ/K is 350 kg of iron and 20 litres of coolant. A locker's 60 kJ/K is 40 kg of wood and gear; it
    exchanges as much with the hull's side as with the cabin, so that it settles half-way between the two. ``sun_m2`` is
    20 m2 of pale deck, of whose sun a third is absorbed and a fifth of that gets through, and half a square metre of
    glass; ``sun_to_locker`` is the share of it that falls to the locker. Ground conductances work where a ground
    temperature is given: the hull's bottom over its own shaded air. All invented where nothing else is said.
    """

    cabin_kj_k: Positive = 2_000.0
    engine_space_kj_k: Positive = 500.0
    block_kj_k: Positive = 250.0
    locker_kj_k: Positive = 60.0
    cabin_to_air_w_k: NotNegative = 90.0
    engine_space_to_air_w_k: NotNegative = 18.0
    locker_to_air_w_k: NotNegative = 5.0
    cabin_to_engine_space_w_k: NotNegative = 15.0
    engine_space_to_block_w_k: NotNegative = 15.0
    cabin_to_locker_w_k: NotNegative = 5.0
    cabin_to_water_w_k: NotNegative = 0.0
    engine_space_to_water_w_k: NotNegative = 0.0
    locker_to_water_w_k: NotNegative = 0.0
    cabin_to_ground_w_k: NotNegative = 5.0
    engine_space_to_ground_w_k: NotNegative = 2.0
    sun_m2: NotNegative = 1.8
    sun_to_locker: Annotated[float, Field(ge=0, le=1, allow_inf_nan=False)] = 0.05
    heater: HeaterPlan | None = None
