"""What somebody who was aboard hands in: as data, or as the fields of the form; and every mistake in it."""

from collections import Counter
from collections.abc import Iterator
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from monitor.model.quantity import SPANS
from monitor.model.visit import Found, Read
from monitor.record.compare import QUANTITY
from monitor.record.contradict import Said
from monitor.record.round import Stop
from monitor.web.clock import YardClock
from monitor.web.problems import Mistake
from monitor.web.round_words import MM_PER_M, figures, said, say, taking_name
from monitor.web.visit_odd import odd_mistakes


class ReadingIn(BaseModel):
    """One reading by hand: ``dip`` in m, ``volts`` in V, ``humidity`` in %RH, ``temperature`` in degC."""

    model_config = ConfigDict(extra="forbid")

    what: Read
    subject: Annotated[str, Field(max_length=48, description="id of the bilge, battery or space in her record")]
    value: Annotated[float, Field(allow_inf_nan=False)]

    @property
    def key(self) -> str:
        """Its place in what was sent, which is its field in the form too."""
        return f"readings.{self.what}.{self.subject}"


class AlertSeen(BaseModel):
    """An alert of hers, ended meanwhile or not, that was looked into aboard, and whether nothing of it was found."""

    model_config = ConfigDict(extra="forbid")

    alert: Annotated[str, Field(max_length=64)]
    nothing_wrong: bool = False


class VisitIn(BaseModel):
    """A visit: who, what they found, what they looked at and read, and which alerts they looked into."""

    model_config = ConfigDict(extra="forbid")

    name: Annotated[str, Field(max_length=80, description="who was aboard")]
    found: Found
    checked: Annotated[list[str], Field(max_length=200, description="codes of the round's list")] = []
    readings: Annotated[list[ReadingIn], Field(max_length=200)] = []
    alerts: Annotated[list[AlertSeen], Field(max_length=200)] = []
    note: Annotated[str, Field(max_length=500)] = ""

    @property
    def said(self) -> Said:
        """What it says, to be held against how she stands."""
        return Said(
            found=self.found,
            read={(r.what, r.subject): r.value for r in self.readings},
            nothing_wrong={seen.alert: seen.nothing_wrong for seen in self.alerts},
            has_note=bool(self.note.strip()),
        )


def mistakes_in(made: VisitIn, stop: Stop, clock: YardClock, *, has_found: bool = True) -> Iterator[Mistake]:
    """Give every mistake in a visit: what does not fit the boat it is of, how she stands, or itself.

    Args:
        made: the visit.
        stop: the boat.
        clock: the yard's clock.
        has_found: whether anything was chosen of what was found; else only the rest is looked at.
    """
    if not made.name.strip():
        yield Mistake(key="name", reason=said("mistakes", "no_name"))
    known = {check.code for check in stop.all_checks}
    for code in made.checked:
        if code not in known:
            yield Mistake(key="checked", reason=say("mistakes", "no_check", code=code))
    yield from _wrong_readings(made, stop)
    yield from _wrong_alerts(made, stop)
    if has_found:
        yield from odd_mistakes(made.said, stop, clock)


def _wrong_readings(made: VisitIn, stop: Stop) -> Iterator[Mistake]:
    takings = {(t.what, t.subject): t for t in stop.all_takings}
    for (what, subject), times in Counter((r.what, r.subject) for r in made.readings).items():
        if times > 1 and (what, subject) in takings:
            name = taking_name(takings[what, subject])
            yield Mistake(key=f"readings.{what}.{subject}", reason=say("mistakes", "twice", name=name))
    for reading in made.readings:
        taking = takings.get((reading.what, reading.subject))
        if taking is None:
            reason = say("mistakes", "nothing_read", subject=reading.subject, what=reading.what.value)
            yield Mistake(key=reading.key, reason=reason)
            continue
        span, unit = SPANS[QUANTITY[reading.what]], said("takings", reading.what.value, "unit")
        low = max(span.low, 0.0) if reading.what is not Read.TEMPERATURE else span.low
        if not low <= reading.value <= span.high:
            scale = MM_PER_M if reading.what is Read.DIP else 1
            numbers = {"typed": reading.value * scale, "low": low * scale, "high": span.high * scale}
            shown = {k: figures().number(v, 0 if v == round(v) else 2) for k, v in numbers.items()}
            reason = say("mistakes", "out_of_span", name=taking_name(taking), unit=unit, **shown)
            yield Mistake(key=reading.key, reason=reason)


def _wrong_alerts(made: VisitIn, stop: Stop) -> Iterator[Mistake]:
    hers = {alert.id for alert in stop.alerts}
    for seen in made.alerts:
        key = f"alerts.{seen.alert}"
        if seen.alert not in hers:
            yield Mistake(key=key, reason=say("mistakes", "not_hers", alert=seen.alert))
        elif made.found is Found.FALSE_CALL and not seen.nothing_wrong:
            yield Mistake(key=key, reason=said("mistakes", "at_odds"))
    if any(not seen.nothing_wrong for seen in made.alerts) and not made.note.strip():
        yield Mistake(key="note", reason=said("mistakes", "no_note"))
