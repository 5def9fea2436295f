"""Heat of a laid-up hull: cabin, engine space, engine block and a locker, between outside air and water or ground.

Four lumped nodes in a chain, locker - cabin - engine space - block; all but the block also exchange with outside air
and, afloat, with the water. A step is implicit (backward Euler), so it is stable at any length and its balance closes
exactly: the heat that came in is the heat that is stored. The latent heat of moisture is left out; that of freezing
liquids comes as sources from `simulator.ice`.
"""

from simulator.heat_plan import HeaterPlan, HeatPlan, NotNegative

__all__ = ["Heat", "HeatPlan", "HeaterPlan", "NotNegative"]

# An engine's thermostat opens here, and what more it gives goes overboard with the cooling water (common practice).
ENGINE_RUNS_AT_DEGC = 80.0


class Heat:
    """The four temperatures, stepped through the winter.

    Attributes:
        cabin_degc: air and furnishings of the cabin.
        engine_space_degc: air, hull and everything small in the engine space.
        block_degc: engine block with what stands in it.
        locker_degc: a locker along the hull's side, with the pipes that run there.
        taken_j: heat taken in from air, water, ground, sun and all sources since the start (negative where more was
            given up).
        heater_on: whether the heater is switched on (it also needs mains).
        heater_w: what the heater gave, mean over the last step.
        heater_j: what the heater has given since the start.
    """

    __slots__ = (
        "_engine_s",
        "_engine_w",
        "_plan",
        "block_degc",
        "cabin_degc",
        "engine_space_degc",
        "heater_j",
        "heater_on",
        "heater_w",
        "locker_degc",
        "taken_j",
    )

    def __init__(self, plan: HeatPlan, start_degc: float) -> None:
        self._plan = _Figures(plan)
        self.cabin_degc = self.engine_space_degc = self.block_degc = self.locker_degc = start_degc
        self.heater_on = plan.heater is not None
        self.taken_j = self.heater_w = self.heater_j = 0.0
        self._engine_w = self._engine_s = 0.0

    def run_engine(self, heat_w: float, lasts_s: float) -> None:
        """Have the engine run from now on: so much heat into the block, until its thermostat opens."""
        self._engine_w = heat_w
        self._engine_s = lasts_s

    def step(
        self,
        dt_s: float,
        outside_degc: float,
        water_degc: float,
        cabin_w: float = 0.0,
        *,
        engine_space_w: float = 0.0,
        block_w: float = 0.0,
        locker_w: float = 0.0,
        sun_w_m2: float = 0.0,
        ground_degc: float | None = None,
        airing_w_k: float = 0.0,
        mains: bool = True,
    ) -> None:
        """Go on by a step.

        Args:
            dt_s: length of the step.
            outside_degc: outside air at the end of the step.
            water_degc: the water she lies in; without effect where no conductance leads to it.
            cabin_w: heat given off in the cabin.
            engine_space_w: heat given off in the engine space.
            block_w: heat given off in the block, beside that of a running engine.
            locker_w: heat given off in the locker.
            sun_w_m2: sun on the horizontal.
            ground_degc: the ground she stands on; None where there is none.
            airing_w_k: what an open hatch adds between cabin and outside.
            mains: whether there is mains for the heater.
        """
        p = self._plan
        cc, ce, cb, cl = p.cabin_j_k / dt_s, p.engine_j_k / dt_s, p.block_j_k / dt_s, p.locker_j_k / dt_s
        if self._engine_s > 0:
            block_w += self._engine(dt_s, cb)
        sun_w = sun_w_m2 * p.sun_m2
        locker_w += sun_w * p.sun_to_locker
        cabin_w += sun_w * (1 - p.sun_to_locker)
        # What reaches a node from outside, as one conductance and the flow it would bring to a node at 0 degC.
        cabin_out = p.cabin_air + airing_w_k
        cabin_flow = cabin_out * outside_degc + p.cabin_water * water_degc + cabin_w
        cabin_out += p.cabin_water
        engine_flow = p.engine_air * outside_degc + p.engine_water * water_degc + engine_space_w
        engine_out = p.engine_air + p.engine_water
        locker_flow = p.locker_air * outside_degc + p.locker_water * water_degc + locker_w
        locker_out = p.locker_air + p.locker_water
        if ground_degc is not None:
            cabin_flow += p.cabin_ground * ground_degc
            cabin_out += p.cabin_ground
            engine_flow += p.engine_ground * ground_degc
            engine_out += p.engine_ground
        # The chain's ends are eliminated into the cabin, whose equation then says what its heater must give.
        block_in = cb * self.block_degc + block_w
        block_diag = cb + p.engine_block
        part = p.engine_block / block_diag
        engine_in = ce * self.engine_space_degc + engine_flow + part * block_in
        engine_diag = ce + engine_out + p.cabin_engine + p.engine_block - part * p.engine_block
        locker_in = cl * self.locker_degc + locker_flow
        locker_diag = cl + locker_out + p.cabin_locker
        part = p.cabin_engine / engine_diag
        share = p.cabin_locker / locker_diag
        cabin_in = cc * self.cabin_degc + cabin_flow + part * engine_in + share * locker_in
        cabin_diag = cc + cabin_out + p.cabin_engine + p.cabin_locker - part * p.cabin_engine - share * p.cabin_locker
        heater_w = 0.0
        if self.heater_on and mains:
            heater_w = min(max(p.holds_degc * cabin_diag - cabin_in, 0.0), p.most_w)
            self.heater_j += heater_w * dt_s
        self.heater_w = heater_w
        self.cabin_degc = cabin = (cabin_in + heater_w) / cabin_diag
        self.engine_space_degc = engine = (engine_in + p.cabin_engine * cabin) / engine_diag
        self.block_degc = (block_in + p.engine_block * engine) / block_diag
        self.locker_degc = locker = (locker_in + p.cabin_locker * cabin) / locker_diag
        self.taken_j += dt_s * (
            cabin_flow
            - cabin_out * cabin
            + engine_flow
            - engine_out * engine
            + locker_flow
            - locker_out * locker
            + block_w
            + heater_w
        )

    def _engine(self, dt_s: float, block_w_k: float) -> float:
        # What the running engine gives to the block, W, mean over the step; no more than brings it to its thermostat.
        lasted = min(dt_s, self._engine_s)
        self._engine_s -= lasted
        lost = self._plan.engine_block * (self.block_degc - self.engine_space_degc)
        room = block_w_k * (ENGINE_RUNS_AT_DEGC - self.block_degc) + lost
        return min(self._engine_w * lasted / dt_s, max(room, 0.0))

    def stored_j(self, above_degc: float) -> float:
        """Give the heat stored above a temperature."""
        p = self._plan
        return (
            p.cabin_j_k * (self.cabin_degc - above_degc)
            + p.engine_j_k * (self.engine_space_degc - above_degc)
            + p.block_j_k * (self.block_degc - above_degc)
            + p.locker_j_k * (self.locker_degc - above_degc)
        )


class _Figures:
    """The plan's figures in J/K, W/K and W as plain slots: they are read some hundred thousand times a winter."""

    __slots__ = (
        "block_j_k",
        "cabin_air",
        "cabin_engine",
        "cabin_ground",
        "cabin_j_k",
        "cabin_locker",
        "cabin_water",
        "engine_air",
        "engine_block",
        "engine_ground",
        "engine_j_k",
        "engine_water",
        "holds_degc",
        "locker_air",
        "locker_j_k",
        "locker_water",
        "most_w",
        "sun_m2",
        "sun_to_locker",
    )

    def __init__(self, plan: HeatPlan) -> None:
        self.cabin_j_k = plan.cabin_kj_k * 1000
        self.engine_j_k = plan.engine_space_kj_k * 1000
        self.block_j_k = plan.block_kj_k * 1000
        self.locker_j_k = plan.locker_kj_k * 1000
        self.cabin_air = plan.cabin_to_air_w_k
        self.engine_air = plan.engine_space_to_air_w_k
        self.locker_air = plan.locker_to_air_w_k
        self.cabin_engine = plan.cabin_to_engine_space_w_k
        self.engine_block = plan.engine_space_to_block_w_k
        self.cabin_locker = plan.cabin_to_locker_w_k
        self.cabin_water = plan.cabin_to_water_w_k
        self.engine_water = plan.engine_space_to_water_w_k
        self.locker_water = plan.locker_to_water_w_k
        self.cabin_ground = plan.cabin_to_ground_w_k
        self.engine_ground = plan.engine_space_to_ground_w_k
        self.sun_m2 = plan.sun_m2
        self.sun_to_locker = plan.sun_to_locker
        heater = plan.heater
        self.holds_degc = 0.0 if heater is None else heater.holds_degc
        self.most_w = 0.0 if heater is None else heater.most_w
