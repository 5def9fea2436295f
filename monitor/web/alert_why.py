"""Why this alert: the figures that decided, and the readings it rests on, each with a way to the charts at its time."""

from dataclasses import dataclass

from monitor.messages.basis import READINGS_SHOWN, measured
from monitor.messages.words import Words
from monitor.model.alert import Alert
from monitor.model.finding import Finding
from monitor.model.vessel import Vessel
from monitor.web.chart_span import between
from monitor.web.clock import YardClock
from monitor.web.record_words import RecordWords
from monitor.web.spans import DAY_MS, HOUR_MS, Shown

AROUND_MS = 12 * HOUR_MS
LONGEST_MS = 14 * DAY_MS
_SWITCH = "/"
_DIFFERENCE = {"degC": "K"}


@dataclass(frozen=True, slots=True)
class FigureRow:
    """A figure, with the limit it is held against and what is between them, where there is one."""

    what: str
    value: str
    limit: str = ""
    margin: str = ""


@dataclass(frozen=True, slots=True)
class ReadingRow:
    """A reading that it rests on, and what to ask for to see the charts about that time."""

    place: str
    value: str
    at_ms: int
    query: str


def figure_rows(finding: Finding, words: Words, clock: YardClock) -> list[FigureRow]:
    """Give the figure that decided, with its limit and its margin, and the others that its rule tells."""
    figure = finding.figure
    rows = []
    told = words.figures[: len(words.figures) - min(len(finding.rests_on), READINGS_SHOWN)]
    if figure.unit != _SWITCH:
        write, has_limit = clock.figures, figure.limit is not None
        margin = None if figure.value is None or figure.limit is None else figure.value - figure.limit
        rows.append(
            FigureRow(
                told[0][0],
                measured(write, figure.value, figure.unit),
                measured(write, figure.limit, figure.unit) if has_limit else "",
                "" if margin is None else measured(write, margin, _DIFFERENCE.get(figure.unit, figure.unit)),
            )
        )
        told = told[2 if has_limit else 1 :]
    return rows + [FigureRow(label, value) for label, value in told]


def reading_rows(finding: Finding, record: Vessel, clock: YardClock) -> list[ReadingRow]:
    """Give the readings that a finding rests on, newest first."""
    words = RecordWords(record, {}, clock)
    rows = []
    for seen in sorted(finding.rests_on, key=lambda seen: -seen.at_ms):
        sensor = record.sensor(seen.sensor)
        value = clock.figures.number(seen.value, 1) if sensor is None else words.value(sensor.quantity, seen.value)
        place = seen.sensor if sensor is None else f"{sensor.place}, {sensor.quantity.value.replace('_', ' ')}"
        rows.append(ReadingRow(place, value, seen.at_ms, around(seen.at_ms, clock).query))
    return rows


def around(at_ms: int, clock: YardClock) -> Shown:
    """Give the half-days before and after a time, as far as they have come."""
    return between(at_ms - AROUND_MS, min(at_ms + AROUND_MS, max(clock.now_ms, at_ms + HOUR_MS)), clock.zone)


def time_of(alert: Alert, clock: YardClock) -> Shown:
    """Give an alert's time for the charts: from a day before, two weeks at most."""
    end_ms = min((alert.ended_ms or clock.now_ms) + AROUND_MS, clock.now_ms)
    return between(max(alert.opened_ms - DAY_MS, end_ms - LONGEST_MS), end_ms, clock.zone)
