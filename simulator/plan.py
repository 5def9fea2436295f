"""A winter as a document: boats as they truly are, what befalls them, the weather, and a seed for all chance."""

import tomllib
from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Annotated, Literal, Self

from pydantic import AwareDatetime, Field, ValidationError, model_validator

from monitor.model.document import DocumentError, mistakes
from monitor.model.equipment import Document, Name
from monitor.model.vessel import Vessel
from simulator import weather, weather_generator
from simulator.boat import BoatPlan
from simulator.faults import Fault


class RecordedWeather(Document):
    """Weather as it was."""

    source: Literal["jfk-2013"]

    def load(self, begins: datetime, ends: datetime) -> weather.Weather:
        """Give the weather from one time to another."""
        recorded = weather.load()
        if _ms(begins) < recorded.from_ms or _ms(ends) > recorded.to_ms:
            raise DocumentError(f"weather: {self.source} does not reach from {begins} to {ends}")
        return recorded


class GeneratedWeather(Document):
    """Weather made up from a seed."""

    source: Literal["generated"]
    seed: int

    def load(self, begins: datetime, ends: datetime) -> weather.Weather:
        """Give the weather from one time to another."""
        return weather_generator.generate(self.seed, begins, ends)


class WinterPlan(Document):
    """A winter. It begins and ends at whole hours; boats that it does not name are as boats usually are."""

    name: Name
    seed: int
    begins: AwareDatetime
    ends: AwareDatetime
    weather: Annotated[RecordedWeather | GeneratedWeather, Field(discriminator="source")]
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
        named = [b.vessel for b in self.boats]
        yield from (f"boats: {v!r} stands {named.count(v)} times" for v in sorted(set(named)) if named.count(v) > 1)
        for fault in self.faults:
            if not self.begins <= fault.begins < self.ends:
                yield f"faults: {fault.vessel} {fault.kind}: begins outside the winter"
            if fault.ends is not None and not fault.begins < fault.ends < self.ends:
                yield f"faults: {fault.vessel} {fault.kind}: ends before it begins or outside the winter"

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


def read_plan(text: str, source: str) -> WinterPlan:
    """Read a winter from TOML.

    Args:
        text: the document.
        source: what to call it in errors, such as its file name.

    Raises:
        DocumentError: with every mistake found.
    """
    try:
        return WinterPlan.model_validate(tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        raise DocumentError(f"{source}: not TOML: {error}") from error
    except ValidationError as error:
        raise DocumentError("\n".join(mistakes(error, source))) from error


def _ms(at: datetime) -> int:
    return round(at.timestamp()) * 1000
