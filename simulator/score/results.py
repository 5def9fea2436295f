"""What a score is made of and compared by: one line a vessel-winter, and where they came from."""

from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field


class Line(BaseModel):
    """A part of a result: immutable, and strict about keys it does not know."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Told(Line):
    """What came of one episode.

    Attributes:
        row: the score's row.
        at_ms: when harm began; where the delay is measured, what it is measured from. ms UTC.
        caught: whether it was told in time.
        opened_ms: since when the alert stood that told it, None where it was missed.
        seconds: the warning or the delay, as the row measures: 0 s of warning, or a year of delay, where it was missed.
        within: whether it was within the row's target, None where it has none.
    """

    row: str
    at_ms: int
    caught: bool
    opened_ms: int | None
    seconds: float
    within: bool | None


class FalseAlert(Line):
    """An alert that neither a harm nor a cause stood behind when it opened."""

    key: str
    priority: Literal["warning", "alarm"]
    at_ms: int


class Side(Line):
    """What one watch made of a vessel's winter.

    Attributes:
        told: its episodes.
        false: its false alerts.
        opened: how many alerts opened as a warning or an alarm, or rose to one.
    """

    told: tuple[Told, ...]
    false: tuple[FalseAlert, ...]
    opened: int


class VesselWinter(Line):
    """One vessel's winter: the watch, and the fixed thresholds on the same messages."""

    winter: str
    seed: int
    vessel: str
    days: float
    watch: Side
    fixed: Side

    @property
    def name(self) -> tuple[str, int, str]:
        """What it is known by in another result."""
        return self.winter, self.seed, self.vessel


class Result(Line):
    """A score as it is kept in a file.

    Attributes:
        form: the form of this document.
        coldberth: version of the program.
        date: when it was made, ISO 8601.
        command: the command it was made by.
        winters: the winters' names.
        seeds: the seeds.
        cadence_s: seconds between packs that were asked for, None for what each winter says.
        vessel_winters: the lines.
        figures: what the lines come to, for who reads the file; a comparison reckons anew from the lines.
    """

    form: Literal[1] = 1
    coldberth: str
    date: str
    command: str
    winters: tuple[str, ...]
    seeds: tuple[int, ...]
    cadence_s: int | None
    vessel_winters: tuple[VesselWinter, ...]
    figures: dict[str, Any] = Field(default_factory=dict)
