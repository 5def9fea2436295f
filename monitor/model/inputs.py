"""Everything the watch is folded over, beside readings: clocks, versions of the record, people's commands, deafness.

Each takes its place in the journal's one rising ``seq``. The watch is a function of this order and of nothing else.
"""

from dataclasses import dataclass

from monitor.model.reading import Reading
from monitor.model.surroundings import Forecast, YardCalendar
from monitor.model.vessel import Vessel


@dataclass(frozen=True, slots=True)
class Clock:
    """The time is at least ``at_ms``: from the wall where nothing is heard, or from the stream in demo and replay."""

    at_ms: int


@dataclass(frozen=True, slots=True)
class RecordVersion:
    """A vessel's record from ``at_ms`` on."""

    vessel: Vessel
    at_ms: int
    actor: str


@dataclass(frozen=True, slots=True)
class Acknowledge:
    """Somebody has seen an alert."""

    vessel: str
    alert: str
    at_ms: int
    actor: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Deaf:
    """The agent itself heard nothing from ``from_ms`` to ``to_ms``: no sensor is to blame for that time."""

    from_ms: int
    to_ms: int


@dataclass(frozen=True, slots=True)
class CalendarVersion:
    """The yard's calendar from ``at_ms`` on."""

    calendar: YardCalendar
    at_ms: int


@dataclass(frozen=True, slots=True)
class ForecastVersion:
    """The forecast that is known from ``at_ms`` on."""

    forecast: Forecast
    at_ms: int


Command = RecordVersion | Acknowledge
YardInput = Clock | Deaf | CalendarVersion | ForecastVersion
Input = Reading | RecordVersion | Acknowledge | YardInput
