"""A dehumidifier: a humidistat that rests and calls, power that may fade in the cold, and a tank that may fill."""

from typing import Annotated

from pydantic import Field, model_validator

from monitor.model.equipment import DehumidifierKind, Document, Positive

# Heat given to the cabin per kilogram taken from its air: the water's heat of evaporation and the mains it takes,
# about 1.5 kWh for a small desiccant machine, 0.8 for a compressor in cool air (makers' data: common practice).
HEAT_J_PER_KG = 2.5e6 + 5.4e6
COMPRESSOR_HEAT_J_PER_KG = 2.5e6 + 2.9e6
# A compressor dries at its rating down to the first and not at all below the second, since its coil ices over
# (common practice).
FADES_BELOW_DEGC = 15.0
STOPS_BELOW_DEGC = 5.0
# A tank with less room than this is full.
_ROOM_KG = 1e-9


class DehumidifierPlan(Document):
    """A dehumidifier with a humidistat. 0.2 kg/h is a small desiccant machine (common practice).

    Attributes:
        hold_rh: the humidity it should hold, %.
        hysteresis_rh: how far apart it starts and stops, half above and half below ``hold_rh``. Electronic humidistats
            have 2 %, mechanical ones 5 % and more (common practice).
        most_kg_h: what it takes at most; for a compressor, at 15 degC and above.
        kind: how it works.
        tank_kg: what its tank holds; None where a hose leads to a drain.
    """

    hold_rh: Annotated[float, Field(gt=0, lt=100)] = 55.0
    hysteresis_rh: Annotated[float, Field(ge=0, le=20)] = 2.0
    most_kg_h: Positive = 0.20
    kind: DehumidifierKind = DehumidifierKind.DESICCANT
    tank_kg: Positive | None = None

    @model_validator(mode="after")
    def _band_lies_in_range(self) -> "DehumidifierPlan":
        half = self.hysteresis_rh / 2
        if not half < self.hold_rh < 100 - half:
            raise ValueError(
                f"hold_rh {self.hold_rh:g} with hysteresis_rh {self.hysteresis_rh:g} leaves 0 to 100 %; lessen one"
            )
        return self


class Dehumidifier:
    """The machine, stepped by the moisture of its cabin.

    Attributes:
        calls: whether its humidistat calls for drying.
        running: whether it dried in the last step.
        tank_kg: water in its tank; always 0 where a hose leads to a drain.
        starts: humidity above which its humidistat calls, 0 to 1.
        stops: humidity at which it comes to rest.
        heat_j_kg: heat it gives to the cabin per kilogram taken.
    """

    __slots__ = (
        "_compressor",
        "_holds_kg",
        "_most_kg_s",
        "calls",
        "heat_j_kg",
        "running",
        "starts",
        "stops",
        "tank_kg",
    )

    def __init__(self, plan: DehumidifierPlan) -> None:
        self.starts = (plan.hold_rh + plan.hysteresis_rh / 2) / 100
        self.stops = (plan.hold_rh - plan.hysteresis_rh / 2) / 100
        self._most_kg_s = plan.most_kg_h / 3600
        self._compressor = plan.kind is DehumidifierKind.COMPRESSOR
        self.heat_j_kg = COMPRESSOR_HEAT_J_PER_KG if self._compressor else HEAT_J_PER_KG
        self._holds_kg = plan.tank_kg
        self.tank_kg = 0.0
        self.calls = self.running = False

    @property
    def tank_full(self) -> bool:
        """Whether it has stopped because its tank is full."""
        return self._holds_kg is not None and self._holds_kg - self.tank_kg <= _ROOM_KG

    def empty(self) -> None:
        """Empty the tank."""
        self.tank_kg = 0.0

    def most_kg(self, dt_s: float, degc: float) -> float:
        """Give what it can take in a step at a temperature."""
        most = dt_s * self._most_kg_s
        if self._compressor:
            most *= min(max((degc - STOPS_BELOW_DEGC) / (FADES_BELOW_DEGC - STOPS_BELOW_DEGC), 0.0), 1.0)
        if self._holds_kg is not None:
            room = self._holds_kg - self.tank_kg
            most = min(most, room) if room > _ROOM_KG else 0.0
        return most

    def aim(self, free: float) -> float:
        """Give the humidity, 0 to 1, that the step should end at if it can, and let the humidistat call or not.

        A small cabin's humidity passes through the band within minutes, many times in an hour's step. It falls through
        it quickly and climbs slowly, so that the step ends where climbing on from the lower mark would leave it: the
        mean is that of the band at any length of step.

        Args:
            free: the humidity the step would end at without drying.
        """
        if free >= self.starts:
            self.calls = True
            band = self.starts - self.stops
            return self.stops + ((free - self.stops) % band if band > 0 else 0.0)
        return self.stops

    def took(self, kg: float, *, reached: bool) -> None:
        """Take note of what it took in a step, and whether that reached the aim, where the humidistat rests."""
        self.running = kg > 0
        if reached:
            self.calls = False
        if self._holds_kg is not None:
            self.tank_kg += kg
