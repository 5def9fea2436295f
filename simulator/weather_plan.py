"""Where a winter's weather comes from, as its document says it."""

from datetime import datetime
from importlib.resources import files
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field, ValidationInfo, field_validator

from monitor.model.document import DocumentError
from monitor.model.equipment import Document
from simulator import weather, weather_generator
from simulator.climates import CLIMATES
from simulator.humidity import Over
from simulator.typical_year import Kind, read_typical_year

_FIRST_MONTH_OF_WINTER = 7


class RecordedWeather(Document):
    """Weather as it was: the coast of New York in the winter of 2013, shipped; or a typical year of an Alaskan island.

    ``sand-point`` is read from the package pvlib (its ``703165TY.csv``, a TMY3 file of NREL's).
    """

    source: Literal["jfk-2013", "sand-point"]

    def load(self, begins: datetime, ends: datetime, seed: int) -> weather.Weather:
        """Give the weather from one time to another."""
        del seed
        if self.source == "jfk-2013":
            return _reaching(weather.load(), self.source, begins, ends)
        try:
            path = Path(str(files("pvlib"))) / "data" / "703165TY.csv"
        except ModuleNotFoundError as error:
            raise DocumentError(
                "weather: sand-point is read from the package pvlib: install coldberth with its extra 'weather'"
            ) from error
        return _reaching(read_typical_year(path, "tmy3", _first_year(begins)), self.source, begins, ends)


class FileWeather(Document):
    """Weather from a file of one's own: hours as CSV, or a typical year as TMY3 or EPW.

    ``file`` is sought from the folder that the winter's document lies in. ``over`` says what humidities below zero are
    stated over: *water* or *ice*.
    """

    source: Literal["csv", "tmy3", "epw"]
    file: Path
    over: Over | None = None

    @field_validator("file")
    @classmethod
    def _from_the_document(cls, file: Path, info: ValidationInfo) -> Path:
        folder = (info.context or {}).get("folder")
        file = file if folder is None else Path(folder) / file
        if not file.is_file():
            raise ValueError(f"there is no file {file}")
        return file

    def load(self, begins: datetime, ends: datetime, seed: int) -> weather.Weather:
        """Give the weather from one time to another."""
        del seed
        if self.source == "csv":
            read = weather.read_csv(self.file, self.over or Over.WATER)
        else:
            kind: Kind = self.source
            read = read_typical_year(self.file, kind, _first_year(begins), self.over or Over.ICE)
        return _reaching(read, self.file.name, begins, ends)


class GeneratedWeather(Document):
    """Weather made up from a seed, the winter's own where none is given, in a named climate."""

    source: Literal["generated"]
    climate: str = "coastal"
    seed: int | None = None

    @field_validator("climate")
    @classmethod
    def _known(cls, climate: str) -> str:
        if climate not in CLIMATES:
            raise ValueError(f"there is no climate {climate!r}; choose one of {', '.join(CLIMATES)}")
        return climate

    def load(self, begins: datetime, ends: datetime, seed: int) -> weather.Weather:
        """Give the weather from one time to another."""
        seed = seed if self.seed is None else self.seed
        return weather_generator.generate(seed, begins, ends, CLIMATES[self.climate])


WeatherPlan = Annotated[RecordedWeather | FileWeather | GeneratedWeather, Field(discriminator="source")]


def _first_year(begins: datetime) -> int:
    return begins.year if begins.month >= _FIRST_MONTH_OF_WINTER else begins.year - 1


def _reaching(read: weather.Weather, name: str, begins: datetime, ends: datetime) -> weather.Weather:
    if begins.timestamp() * 1000 < read.from_ms or ends.timestamp() * 1000 > read.to_ms:
        raise DocumentError(f"weather: {name} does not reach from {begins} to {ends}")
    return read
