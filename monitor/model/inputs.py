"""Everything the watch is folded over, beside readings: clocks, versions of the record, people's commands, deafness.

Each takes its place in the journal's one rising ``seq``. The watch is a function of this order and of nothing else.
"""

from dataclasses import dataclass
from enum import StrEnum

from monitor.model.gate import GateWord
from monitor.model.reading import Reading
from monitor.model.surroundings import Forecast, YardCalendar
from monitor.model.vessel import Vessel
from monitor.model.visit import Found, VisitNote


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
    link: str = ""
    """The notice whose link it was done by, empty where by none: a link can be used once."""


@dataclass(frozen=True, slots=True)
class Confirm:
    """Somebody went aboard and says what they found of an alert. They have seen it by that."""

    vessel: str
    alert: str
    at_ms: int
    actor: str
    note: str
    nothing_wrong: bool = False
    """Whether they found nothing of what it told: a call-out that was false."""

    def as_visit(self) -> "VisitReport":
        """Give the visit that it was: whoever confirms has been aboard."""
        found = Found.FALSE_CALL if self.nothing_wrong else Found.AS_TOLD
        nothing = (self.alert,) if self.nothing_wrong else ()
        note = VisitNote(found, note=self.note, confirmed=(self.alert,), nothing_wrong=nothing)
        return VisitReport(self.vessel, self.at_ms, self.actor, note)


@dataclass(frozen=True, slots=True)
class HandOver:
    """Somebody gives an alert into another's hands, who has it once they accept it."""

    vessel: str
    alert: str
    at_ms: int
    actor: str
    to: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Accept:
    """Somebody takes an alert: the one to whom it was handed over, or whoever says so."""

    vessel: str
    alert: str
    at_ms: int
    actor: str
    note: str = ""
    link: str = ""
    """The notice whose link it was done by, empty where by none: a link can be used once."""


@dataclass(frozen=True, slots=True)
class Shelve:
    """A person puts an alert aside for a reason until a time: nobody is told of it meanwhile."""

    vessel: str
    alert: str
    at_ms: int
    actor: str
    reason: str
    until_ms: int


@dataclass(frozen=True, slots=True)
class TakeOut:
    """A yard manager takes an alert out of service for a reason, until a manager brings it back."""

    vessel: str
    alert: str
    at_ms: int
    actor: str
    reason: str


@dataclass(frozen=True, slots=True)
class BringBack:
    """Somebody ends the shelving of an alert, or a manager brings it back into service."""

    vessel: str
    alert: str
    at_ms: int
    actor: str
    note: str = ""


class Aboard(StrEnum):
    """The designed reasons for which a vessel's alerts are suppressed."""

    PEOPLE = "people aboard"
    WASH_DOWN = "wash-down"
    LIFT = "lift"


@dataclass(frozen=True, slots=True)
class Suppress:
    """What is done aboard until a time, which her sensors will make much of. Water at a float is told all the same."""

    vessel: str
    at_ms: int
    actor: str
    reason: Aboard
    until_ms: int
    note: str = ""


@dataclass(frozen=True, slots=True)
class EndSuppression:
    """Whatever was done aboard is over."""

    vessel: str
    at_ms: int
    actor: str


@dataclass(frozen=True, slots=True)
class VisitReport:
    """Somebody was aboard and wrote down what they found."""

    vessel: str
    at_ms: int
    actor: str
    visit: VisitNote


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


AlertCommand = Acknowledge | Confirm | HandOver | Accept | Shelve | TakeOut | BringBack
VesselCommand = Suppress | EndSuppression | VisitReport | GateWord
Command = RecordVersion | AlertCommand | VesselCommand
YardInput = Clock | Deaf | CalendarVersion | ForecastVersion
Input = Reading | Command | YardInput
