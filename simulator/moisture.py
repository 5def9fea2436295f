"""Moisture of a cabin: ventilation, sources, furnishings that take up and give off, condensation, a dehumidifier.

The unknowns are the vapour density of the air, the water held by furnishings and the film on the coldest surface. A
step is implicit in all of them, so it is stable at an hour's length and the water balance closes exactly.
"""

from typing import Annotated

from pydantic import Field

from monitor.model.equipment import Document, Positive
from simulator.heat import NotNegative
from simulator.vapour import density_kg_m3, saturation_kg_m3

Share = Annotated[float, Field(ge=0, le=1, allow_inf_nan=False)]

# Heat a desiccant dehumidifier gives to the cabin per kilogram taken from its air: the water's heat of evaporation and
# about 1.5 kWh of mains (makers' data of small desiccant machines: common practice, no source).
HEAT_J_PER_KG = 2.5e6 + 5.4e6


class DehumidifierPlan(Document):
    """A dehumidifier with a humidistat. 0.2 kg/h is a small desiccant machine (common practice)."""

    hold_rh: Annotated[float, Field(gt=0, lt=100)] = 55.0
    most_kg_h: Positive = 0.20


class AirPlan(Document):
    """The cabin's air. All defaults are common practice, no source.

    ``furnishings_kg`` is the water that wood, cloth and foam take up between 0 and 100 % RH, ``furnishings_m3_h`` how
    fast they exchange it with the air; ``surface_factor`` places the coldest surface between outside (0) and cabin (1).
    """

    volume_m3: Positive = 20.0
    changes_per_h: NotNegative = 0.5
    changes_per_h_per_wind: NotNegative = 0.1
    source_g_h: NotNegative = 0.0
    surface_factor: Share = 0.3
    condensing_m3_h: NotNegative = 20.0
    furnishings_kg: Positive = 8.0
    furnishings_m3_h: NotNegative = 10.0
    start_rh: Annotated[float, Field(gt=0, lt=100)] = 65.0
    dehumidifier: DehumidifierPlan | None = None


class Moisture:
    """The cabin's moisture, stepped through the winter.

    Attributes:
        vapour_kg_m3: vapour density of the air.
        furnishings_kg: water in the furnishings.
        film_kg: water on the coldest surface.
        rh: relative humidity of the air, %.
        dehumidifier_on: whether the dehumidifier works (it also needs mains).
        removed_kg: water the dehumidifier has taken since the start.
        vented_kg: vapour that ventilation has brought in, less what it took out, since the start.
        sourced_kg: vapour that sources have given since the start.
    """

    __slots__ = (
        "_changes",
        "_changes_per_wind",
        "_condensing_m3_s",
        "_dry_kg",
        "_factor",
        "_furnishings_m3_s",
        "_hold",
        "_most_kg_s",
        "_source_kg_s",
        "_volume",
        "dehumidifier_on",
        "film_kg",
        "furnishings_kg",
        "removed_kg",
        "rh",
        "sourced_kg",
        "vapour_kg_m3",
        "vented_kg",
    )

    def __init__(self, plan: AirPlan, start_degc: float) -> None:
        self._volume = plan.volume_m3
        self._changes = plan.changes_per_h / 3600
        self._changes_per_wind = plan.changes_per_h_per_wind / 3600
        self._source_kg_s = plan.source_g_h / 3.6e6
        self._factor = plan.surface_factor
        self._condensing_m3_s = plan.condensing_m3_h / 3600
        self._furnishings_m3_s = plan.furnishings_m3_h / 3600
        self._dry_kg = plan.furnishings_kg
        machine = plan.dehumidifier
        self._hold = 1.0 if machine is None else machine.hold_rh / 100
        self._most_kg_s = 0.0 if machine is None else machine.most_kg_h / 3600
        self.dehumidifier_on = machine is not None
        self.rh = plan.start_rh
        self.vapour_kg_m3 = plan.start_rh / 100 * saturation_kg_m3(start_degc)
        self.furnishings_kg = plan.start_rh / 100 * plan.furnishings_kg
        self.film_kg = self.removed_kg = self.vented_kg = self.sourced_kg = 0.0

    @property
    def water_kg(self) -> float:
        """All the water in air, furnishings and film."""
        return self._volume * self.vapour_kg_m3 + self.furnishings_kg + self.film_kg

    def step(
        self,
        dt_s: float,
        cabin_degc: float,
        outside_degc: float,
        outside_pa: float,
        wind_m_s: float,
        evaporated_kg: float = 0.0,
        *,
        mains: bool = True,
    ) -> float:
        """Go on by a step.

        Args:
            dt_s: length of the step.
            cabin_degc: the cabin's air at the end of the step.
            outside_degc: outside air, which chills the coldest surface.
            outside_pa: vapour pressure outside.
            wind_m_s: wind, which ventilates.
            evaporated_kg: vapour given off by the bilge during the step.
            mains: whether there is mains for the dehumidifier.

        Returns:
            The heat the dehumidifier gave to the cabin, W, mean over the step.
        """
        saturated = saturation_kg_m3(cabin_degc)
        fresh = density_kg_m3(outside_pa, cabin_degc)
        airing = dt_s * self._volume * (self._changes + self._changes_per_wind * wind_m_s)
        sourced = dt_s * self._source_kg_s + evaporated_kg
        # Furnishings give off air at their own humidity; eliminated, they weigh on the air's equation like this.
        passing = dt_s * self._furnishings_m3_s
        back = passing * saturated / self._dry_kg
        weight = self._volume + airing + passing / (1 + back)
        load = self._volume * self.vapour_kg_m3 + airing * fresh + sourced + back * self.furnishings_kg / (1 + back)

        most = dt_s * self._most_kg_s if mains and self.dehumidifier_on else 0.0
        aim = self._hold * saturated
        vapour, removed = _dried(weight, load, aim, most)
        surface = saturation_kg_m3(outside_degc + self._factor * (cabin_degc - outside_degc))
        condensed = 0.0
        if self.film_kg > 0 or vapour > surface:
            wetting = dt_s * self._condensing_m3_s
            vapour, removed = _dried(weight + wetting, load + wetting * surface, aim, most)
            condensed = wetting * (vapour - surface)
            if condensed < -self.film_kg:
                condensed = -self.film_kg
                vapour, removed = _dried(weight, load - condensed, aim, most)
            self.film_kg += condensed

        self.furnishings_kg = (self.furnishings_kg + passing * vapour) / (1 + back)
        self.vented_kg += airing * (fresh - vapour)
        self.sourced_kg += sourced
        self.removed_kg += removed
        self.vapour_kg_m3 = vapour
        self.rh = min(100.0 * vapour / saturated, 100.0)
        return removed * HEAT_J_PER_KG / dt_s


def _dried(weight: float, load: float, aim_kg_m3: float, most_kg: float) -> tuple[float, float]:
    # Vapour at the end of the step, and what the dehumidifier took, at most `most_kg`, to bring it down to the aim.
    vapour = load / weight
    if most_kg <= 0 or vapour <= aim_kg_m3:
        return vapour, 0.0
    removed = min(load - weight * aim_kg_m3, most_kg)
    return (load - removed) / weight, removed
