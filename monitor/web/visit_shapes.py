"""The round and visits as the API gives them. Times are RFC 3339 in UTC; readings in the unit of their kind."""

from datetime import date, datetime
from typing import Self

from pydantic import BaseModel

from monitor.model.inputs import VisitReport
from monitor.model.vessel import Card, Vessel
from monitor.model.visit import Found, Read
from monitor.record.compare import Comparison
from monitor.record.visit_count import VisitCount, compared_on
from monitor.web.clock import YardClock
from monitor.web.problems import Mistake
from monitor.web.round_shown import StopShown, compared_words
from monitor.web.shapes import instant


class ReasonOut(BaseModel):
    """Why somebody should go aboard."""

    why: str
    text: str
    alert: str | None
    due: date | None


class CheckOut(BaseModel):
    """One thing to look at."""

    code: str
    text: str


class TakingOut(BaseModel):
    """One reading to take by hand, and the sensor that should say the same."""

    what: Read
    subject: str
    name: str
    sensor: str | None


class StopOut(BaseModel):
    """One boat of the round."""

    vessel: str
    name: str
    place: str
    reasons: list[ReasonOut]
    card: Card
    cautions: list[str]
    checks: list[CheckOut]
    takings: list[TakingOut]

    @classmethod
    def of(cls, shown: StopShown) -> Self:
        """Give a boat of the round as data."""
        stop = shown.stop
        reasons = [
            ReasonOut(
                why=reason.why.code,
                text=words.text,
                alert=None if reason.alert is None else reason.alert.id,
                due=None if reason.due is None else reason.due.on,
            )
            for reason, words in zip(stop.reasons, shown.reasons, strict=True)
        ]
        return cls(
            vessel=stop.vessel.id,
            name=stop.vessel.name,
            place=stop.vessel.place,
            reasons=reasons,
            card=stop.vessel.card,
            cautions=shown.cautions,
            checks=[CheckOut(code=code, text=text) for code, text in shown.checks],
            takings=[TakingOut(what=t.what, subject=t.subject, name=t.name, sensor=t.sensor) for t in stop.takings],
        )


class RoundOut(BaseModel):
    """Today's round in walking order; ``left_out`` counts less pressing boats that it had no room for."""

    stops: list[StopOut]
    left_out: int


class ComparedOut(BaseModel):
    """A reading by hand beside what the sensor said; both, and how far apart they may be, in the kind's own unit."""

    what: Read
    subject: str
    read: float
    sensor: str | None
    said: float | None
    said_at: datetime | None
    verdict: str
    difference: float | None
    allowed: float | None
    text: str

    @classmethod
    def of(cls, comparison: Comparison, record: Vessel, clock: YardClock) -> Self:
        """Give a comparison as data."""
        hand = comparison.reading
        return cls(
            what=hand.what,
            subject=hand.subject,
            read=hand.value,
            sensor=hand.sensor,
            said=hand.sensor_value,
            said_at=None if hand.sensor_ms is None else instant(hand.sensor_ms),
            verdict=comparison.verdict.value,
            difference=comparison.difference,
            allowed=comparison.allowed,
            text=compared_words(comparison, record, clock)[2],
        )


class VisitOut(BaseModel):
    """A visit, with what was read beside what the sensors said."""

    vessel: str
    at: datetime
    by: str
    found: Found
    checked: list[str]
    confirmed: list[str]
    nothing_wrong: list[str]
    note: str
    readings: list[ComparedOut]

    @classmethod
    def of(cls, report: VisitReport, record: Vessel, clock: YardClock) -> Self:
        """Give a visit as data."""
        visit = report.visit
        return cls(
            vessel=report.vessel,
            at=instant(report.at_ms),
            by=report.actor,
            found=visit.found,
            checked=list(visit.checked),
            confirmed=list(visit.confirmed),
            nothing_wrong=list(visit.nothing_wrong),
            note=visit.note,
            readings=[ComparedOut.of(c, record, clock) for c in compared_on(report, record)],
        )


class VisitTaken(VisitOut):
    """A visit that was taken in, and what the watch refused of its confirmations: the alert and why."""

    refused: list[Mistake]


class VisitsOut(BaseModel):
    """The visits of a span, newest first, and the counts of what stands out among them."""

    false_calls: int
    missed: int
    differed: int
    compared: int
    visits: list[VisitOut]

    @classmethod
    def of(cls, counted: VisitCount, records: dict[str, Vessel], clock: YardClock) -> Self:
        """Give counted visits as data."""
        return cls(
            false_calls=len(counted.false_calls),
            missed=len(counted.missed),
            differed=len(counted.disagreements),
            compared=counted.compared,
            visits=[VisitOut.of(v, records[v.vessel], clock) for v in counted.visits],
        )
