"""Heat of a laid-up hull: cabin, engine space and engine block, lagging behind outside air and the water she lies in.

Three lumped nodes in a chain, cabin - engine space - block. Cabin and engine space also exchange with outside air and,
afloat, with the water. A step is implicit (backward Euler), so it is stable at any length and its balance closes
exactly: the heat that came in is the heat that is stored. Sun and the latent heat of moisture are left out.
"""

from typing import Annotated

from pydantic import Field

from monitor.model.equipment import Document, Positive

NotNegative = Annotated[float, Field(ge=0, allow_inf_nan=False)]


class HeatPlan(Document):
    """Heat capacities (kJ/K) and conductances (W/K); the defaults, a 10 m cruiser ashore, are common practice.

    A cabin's 2,000 kJ/K is 1.3 t of wood, foam and laminate; 90 W/K is 30 m2 of bare single-skin deck and topsides.
    A block's 250 kJ/K is 350 kg of iron and 20 litres of coolant.
    """

    cabin_kj_k: Positive = 2_000.0
    engine_space_kj_k: Positive = 500.0
    block_kj_k: Positive = 250.0
    cabin_to_air_w_k: NotNegative = 90.0
    engine_space_to_air_w_k: NotNegative = 18.0
    cabin_to_engine_space_w_k: NotNegative = 15.0
    engine_space_to_block_w_k: NotNegative = 15.0
    cabin_to_water_w_k: NotNegative = 0.0
    engine_space_to_water_w_k: NotNegative = 0.0


class Heat:
    """The three temperatures, stepped through the winter.

    Attributes:
        cabin_degc: air and furnishings of the cabin.
        engine_space_degc: air, hull and everything small in the engine space.
        block_degc: engine block with what stands in it.
        taken_j: heat taken in from air, water and sources since the start (negative where more was given up).
    """

    __slots__ = ("_plan", "block_degc", "cabin_degc", "engine_space_degc", "taken_j")

    def __init__(self, plan: HeatPlan, start_degc: float) -> None:
        self._plan = _Conductances(plan)
        self.cabin_degc = self.engine_space_degc = self.block_degc = start_degc
        self.taken_j = 0.0

    def step(self, dt_s: float, outside_degc: float, water_degc: float, cabin_w: float = 0.0) -> None:
        """Go on by a step.

        Args:
            dt_s: length of the step.
            outside_degc: outside air at the end of the step.
            water_degc: the water she lies in; without effect where no conductance leads to it.
            cabin_w: heat given off in the cabin.
        """
        p = self._plan
        cc, ce, cb = p.cabin_j_k / dt_s, p.engine_j_k / dt_s, p.block_j_k / dt_s
        # Tridiagonal: the block and the cabin each hang on the engine space alone, and are eliminated into it.
        cabin_in = cc * self.cabin_degc + p.cabin_air * outside_degc + p.cabin_water * water_degc + cabin_w
        cabin_diag = cc + p.cabin_air + p.cabin_water + p.cabin_engine
        block_in = cb * self.block_degc
        block_diag = cb + p.engine_block
        engine_in = ce * self.engine_space_degc + p.engine_air * outside_degc + p.engine_water * water_degc
        engine_diag = ce + p.engine_air + p.engine_water + p.cabin_engine + p.engine_block
        engine = (engine_in + p.cabin_engine * cabin_in / cabin_diag + p.engine_block * block_in / block_diag) / (
            engine_diag - p.cabin_engine**2 / cabin_diag - p.engine_block**2 / block_diag
        )
        cabin = (cabin_in + p.cabin_engine * engine) / cabin_diag
        self.block_degc = (block_in + p.engine_block * engine) / block_diag
        self.taken_j += dt_s * (
            p.cabin_air * (outside_degc - cabin)
            + p.cabin_water * (water_degc - cabin)
            + p.engine_air * (outside_degc - engine)
            + p.engine_water * (water_degc - engine)
            + cabin_w
        )
        self.cabin_degc = cabin
        self.engine_space_degc = engine

    def stored_j(self, above_degc: float) -> float:
        """Give the heat stored above a temperature."""
        p = self._plan
        return (
            p.cabin_j_k * (self.cabin_degc - above_degc)
            + p.engine_j_k * (self.engine_space_degc - above_degc)
            + p.block_j_k * (self.block_degc - above_degc)
        )


class _Conductances:
    """The plan's figures in J/K and W/K as plain slots: they are read forty thousand times a winter."""

    __slots__ = (
        "block_j_k",
        "cabin_air",
        "cabin_engine",
        "cabin_j_k",
        "cabin_water",
        "engine_air",
        "engine_block",
        "engine_j_k",
        "engine_water",
    )

    def __init__(self, plan: HeatPlan) -> None:
        self.cabin_j_k = plan.cabin_kj_k * 1000
        self.engine_j_k = plan.engine_space_kj_k * 1000
        self.block_j_k = plan.block_kj_k * 1000
        self.cabin_air = plan.cabin_to_air_w_k
        self.engine_air = plan.engine_space_to_air_w_k
        self.cabin_engine = plan.cabin_to_engine_space_w_k
        self.engine_block = plan.engine_space_to_block_w_k
        self.cabin_water = plan.cabin_to_water_w_k
        self.engine_water = plan.engine_space_to_water_w_k
