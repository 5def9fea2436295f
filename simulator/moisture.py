"""Moisture of a cabin: ventilation, sources, furnishings that take up and give off, condensation, a dehumidifier.

Vapour pressure is one throughout the cabin's air, so that water condenses on the coldest surface where the saturation
pressure there is lower. The unknowns are the vapour density of the air, the water held by furnishings and the film on
the coldest surface. A step is implicit in all of them, so it is stable at an hour's length and the water balance
closes exactly.
"""

from typing import Annotated

from pydantic import Field

from monitor.model.equipment import Document, Positive
from simulator.dehumidifier import HEAT_J_PER_KG, Dehumidifier, DehumidifierPlan
from simulator.heat_plan import NotNegative
from simulator.vapour import density_kg_m3, saturation_kg_m3, saturation_pa

__all__ = ["HEAT_J_PER_KG", "AirPlan", "DehumidifierPlan", "Moisture"]

Share = Annotated[float, Field(ge=0, le=1, allow_inf_nan=False)]

# Vapour this near what the humidistat aims at has reached it: rounding only.
_AT_AIM = 1e-9


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
        surface_degc: the coldest surface's temperature.
        surface_rh: relative humidity of the air right at the coldest surface, over water, %: what mould lives by.
        dehumidifier: the machine; None where there is none.
        dehumidifier_on: whether the dehumidifier is switched on and has not tripped (it also needs mains).
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
        "_source_kg_s",
        "_volume",
        "_wet_kg",
        "_wet_kg_s",
        "dehumidifier",
        "dehumidifier_on",
        "film_kg",
        "furnishings_kg",
        "removed_kg",
        "rh",
        "sourced_kg",
        "surface_degc",
        "surface_rh",
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
        self._wet_kg = self._wet_kg_s = 0.0
        self.dehumidifier = None if plan.dehumidifier is None else Dehumidifier(plan.dehumidifier)
        self.dehumidifier_on = self.dehumidifier is not None
        self.rh = self.surface_rh = plan.start_rh
        self.surface_degc = start_degc
        self.vapour_kg_m3 = plan.start_rh / 100 * saturation_kg_m3(start_degc)
        self.furnishings_kg = plan.start_rh / 100 * plan.furnishings_kg
        self.film_kg = self.removed_kg = self.vented_kg = self.sourced_kg = 0.0

    def wet(self, kg: float, over_s: float) -> None:
        """Bring in water that evaporates evenly over a time: a wash-down, wet gear, rain through a hatch."""
        if kg < 0 or over_s <= 0:
            raise ValueError(f"{kg:g} kg over {over_s:g} s cannot evaporate; give 0 kg or more, and a time above 0 s")
        self._wet_kg += kg
        self._wet_kg_s += kg / over_s

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
        airing_per_h: float = 0.0,
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
            airing_per_h: changes of air that an open hatch adds; 5 to 10 an hour (common practice).

        Returns:
            The heat the dehumidifier gave to the cabin, W, mean over the step.
        """
        saturated = saturation_kg_m3(cabin_degc)
        fresh = density_kg_m3(outside_pa, cabin_degc)
        airing = dt_s * self._volume * (self._changes + self._changes_per_wind * wind_m_s + airing_per_h / 3600)
        sourced = dt_s * self._source_kg_s + evaporated_kg
        if self._wet_kg > 0:
            sourced += self._dry_off(dt_s)
        # Furnishings give off air at their own humidity; eliminated, they weigh on the air's equation like this.
        passing = dt_s * self._furnishings_m3_s
        back = passing * saturated / self._dry_kg
        weight = self._volume + airing + passing / (1 + back)
        load = self._volume * self.vapour_kg_m3 + airing * fresh + sourced + back * self.furnishings_kg / (1 + back)

        machine = self.dehumidifier
        most = aim = 0.0
        if machine is not None:
            aim = saturated * machine.aim(load / weight / saturated)
            if machine.calls and mains and self.dehumidifier_on:
                most = machine.most_kg(dt_s, cabin_degc)
        vapour, removed = _dried(weight, load, aim, most)
        self.surface_degc = surface_degc = outside_degc + self._factor * (cabin_degc - outside_degc)
        surface = density_kg_m3(saturation_pa(surface_degc), cabin_degc)
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
        self.surface_rh = min(100.0 * vapour / surface, 100.0)
        if machine is None:
            return 0.0
        machine.took(removed, reached=vapour <= aim * (1 + _AT_AIM))
        return removed * machine.heat_j_kg / dt_s

    def _dry_off(self, dt_s: float) -> float:
        dried = min(self._wet_kg, dt_s * self._wet_kg_s)
        self._wet_kg -= dried
        if self._wet_kg <= 0:
            self._wet_kg_s = 0.0
        return dried


def _dried(weight: float, load: float, aim_kg_m3: float, most_kg: float) -> tuple[float, float]:
    # Vapour at the end of the step, and what the dehumidifier took, at most `most_kg`, to bring it down to the aim.
    vapour = load / weight
    if most_kg <= 0 or vapour <= aim_kg_m3:
        return vapour, 0.0
    removed = min(load - weight * aim_kg_m3, most_kg)
    return (load - removed) / weight, removed
