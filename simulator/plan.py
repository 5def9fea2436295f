"""A winter as a document: boats as they truly are, what befalls them, the weather, and a seed for all chance."""

import tomllib
from collections.abc import Iterator, Sequence
from datetime import datetime
from pathlib import Path
from typing import Annotated, Self

from pydantic import AwareDatetime, Field, ValidationError, model_validator

from monitor.model.document import DocumentError, mistakes
from monitor.model.equipment import Document, Name, Positive, Slug
from monitor.model.surroundings import YardCalendar
from monitor.model.vessel import Vessel
from simulator.boat_plan import BoatPlan
from simulator.chances import Chance
from simulator.faults import Fault
from simulator.forecast import Forecasts
from simulator.heat import NotNegative
from simulator.hours import Weather
from simulator.weather_plan import WeatherPlan

HOUR_S = 3_600


class ForecastPlan(Document):
    """Forecasts that the yard gets: every so many hours, reaching so far, with an error that grows with the lead."""

    every_h: Annotated[int, Field(ge=1, le=24)] = 6
    reach_h: Annotated[int, Field(ge=12, le=240)] = 72
    error_k_at_start: NotNegative = 0.7
    error_k_per_day: NotNegative = 0.7

    def of(self, weather: Weather, seed: int) -> Forecasts:
        """Give the forecasts of a weather."""
        return Forecasts(
            weather,
            seed,
            every_h=self.every_h,
            reach_h=self.reach_h,
            error_k_at_start=self.error_k_at_start,
            error_k_per_day=self.error_k_per_day,
        )


class FleetPlan(Document):
    """A made-up fleet.

    Attributes:
        vessels: how many.
        like: the sample boats that they are like, with the weight of each; empty for all of them alike.
    """

    vessels: Annotated[int, Field(ge=1, le=100_000)]
    like: dict[Slug, Positive] = Field(default_factory=dict)


class WinterPlan(Document):
    """A winter. It begins and ends at whole hours; boats that it does not name are as boats usually are.

    With a ``fleet`` the boats are made up, and ``chances`` say what befalls them; without, they are the sample yard's.
    """

    name: Name
    seed: int
    begins: AwareDatetime
    ends: AwareDatetime
    calendar: YardCalendar = YardCalendar(zone="America/New_York")
    cadence_s: Annotated[int, Field(ge=60, le=HOUR_S)] = HOUR_S
    weather: WeatherPlan
    forecast: ForecastPlan | None = None
    fleet: FleetPlan | None = None
    chances: tuple[Chance, ...] = ()
    boats: tuple[BoatPlan, ...] = ()
    faults: tuple[Fault, ...] = ()

    @model_validator(mode="after")
    def _hold_together(self) -> Self:
        wrong = list(self._mistakes())
        if wrong:
            raise ValueError("; ".join(wrong))
        return self

    def _mistakes(self) -> Iterator[str]:
        if self.begins.timestamp() % 3600 or self.ends.timestamp() % 3600:
            yield "a winter begins and ends at whole hours"
        if self.begins >= self.ends:
            yield "a winter ends after it begins"
        if HOUR_S % self.cadence_s:
            yield f"cadence_s is {self.cadence_s}; it must divide an hour"
        if self.chances and self.fleet is None:
            yield "chances are for a made-up fleet: say how many boats it has ([fleet], vessels = 40)"
        if self.fleet is not None and (self.boats or self.faults):
            yield "boats and faults name boats of the sample yard; a made-up fleet has chances"
        named = [b.vessel for b in self.boats]
        yield from (f"boats: {v!r} stands {named.count(v)} times" for v in sorted(set(named)) if named.count(v) > 1)
        for fault in self.faults:
            if not self.begins <= fault.begins < self.ends:
                yield f"faults: {fault.vessel} {fault.kind}: begins outside the winter"
            if fault.ends is not None and fault.ends >= self.ends:
                yield f"faults: {fault.vessel} {fault.kind}: ends outside the winter"

    @property
    def begins_ms(self) -> int:
        """When it begins, ms UTC."""
        return _ms(self.begins)

    @property
    def ends_ms(self) -> int:
        """When it ends, ms UTC."""
        return _ms(self.ends)

    def fitting(self, vessels: Sequence[Vessel], source: str) -> Self:
        """Answer with the plan itself where it fits the vessels' records.

        Raises:
            DocumentError: with every vessel, battery and bilge that the plan names and no record knows.
        """
        wrong = list(self._misfits({v.id: v for v in vessels}))
        if wrong:
            raise DocumentError("\n".join(f"{source}: {line}" for line in wrong))
        return self

    def _misfits(self, records: dict[str, Vessel]) -> Iterator[str]:
        for n, fault in enumerate(self.faults):
            if fault.vessel not in records:
                yield f"faults.{n}: there is no vessel {fault.vessel!r}"
            else:
                yield from (f"faults.{n}: {line}" for line in fault.misfits(records[fault.vessel]))
        for n, boat in enumerate(self.boats):
            record = records.get(boat.vessel)
            if record is None:
                yield f"boats.{n}: there is no vessel {boat.vessel!r}"
                continue
            for part, named, known in (
                ("batteries", boat.batteries, {b.id for b in record.batteries}),
                ("bilges", boat.bilges, {b.id for b in record.bilges}),
                ("places", boat.places, {s.id for s in record.sensors}),
            ):
                yield from (
                    f"boats.{n}.{part}: {record.id} has no {i!r} in her record" for i in named if i not in known
                )


def read_plan(text: str, source: str, folder: Path | None = None) -> WinterPlan:
    """Read a winter from TOML.

    Args:
        text: the document.
        source: what to call it in errors, such as its file name.
        folder: where the files that it names are sought; the working folder where None.

    Raises:
        DocumentError: with every mistake found.
    """
    try:
        return WinterPlan.model_validate(tomllib.loads(text), context={"folder": folder})
    except tomllib.TOMLDecodeError as error:
        raise DocumentError(f"{source}: not TOML: {error}") from error
    except ValidationError as error:
        raise DocumentError("\n".join(mistakes(error, source))) from error


def _ms(at: datetime) -> int:
    return round(at.timestamp()) * 1000
