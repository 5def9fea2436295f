"""What a report says, gathered from the journal's views as plain data: strings, which the template only places."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from monitor.charts import Panel
from monitor.messages.figures import Figures
from monitor.messages.phrases import FALLBACK_LANGUAGE, common
from monitor.messages.words import priority_words, put_into_words
from monitor.model.views import AlertView, ReadingView, RecordView, VisitView
from monitor.record.blind import blind_spots
from monitor.record.gate import Gate
from monitor.record.gate_now import gate_at
from monitor.record.gate_says import slings_words, verdict
from monitor.report.closing_rows import left_open, spring_list, still_open
from monitor.report.coverage import Coverage, coverage
from monitor.report.drawn import charts_of
from monitor.report.exposure_rows import ExposureRows
from monitor.report.job_rows import job_rows
from monitor.report.record_rows import RecordRows
from monitor.report.responses import Answered, Response, response
from monitor.report.winter import Winter

Data = dict[str, object]
AT_MOST = 100_000
GAPS_NAMED = 8


@dataclass(frozen=True, slots=True)
class Shelf:
    """Where a report takes what it says from.

    Attributes:
        yard_name: what the yard is called.
        zone: its time zone.
        records: lay-up records.
        readings: what sensors said.
        alerts: alerts and their events.
        visits: what people who went aboard wrote down.
        now_ms: event time now.
    """

    yard_name: str
    zone: ZoneInfo
    records: RecordView
    readings: ReadingView
    alerts: AlertView
    visits: VisitView
    now_ms: int

    @property
    def figures(self) -> Figures:
        """How figures are written."""
        return common(FALLBACK_LANGUAGE).figures

    def at(self, at_ms: int) -> str:
        """Give a time as the yard's clock has it."""
        return self.figures.date_clock(at_ms, self.zone)


def responses_of(shelf: Shelf, winter: Winter) -> list[Response]:
    """Give every alert that was open in the winter, oldest first, and how it was answered."""
    found = shelf.alerts.alerts_between(winter.stored.vessel.id, winter.from_ms, winter.to_ms, AT_MOST)
    return [response(a, shelf.alerts.events(a.id)) for a in reversed(found)]


def gathered(shelf: Shelf, winter: Winter) -> tuple[Data, list[Panel]]:
    """Gather what a report says, and its charts."""
    record, span = winter.stored.vessel, (winter.from_ms, winter.to_ms)
    rows = RecordRows(record, shelf.figures)
    answered = responses_of(shelf, winter)
    heard = list(coverage(winter, shelf.readings, shelf.zone))
    exposed = ExposureRows(winter, shelf.readings, shelf.figures, shelf.at)
    gate = gate_at(
        winter.versions[::-1],
        shelf.records,
        shelf.readings,
        shelf.alerts,
        winter.to_ms,
        shelf.zone,
        said_to_ms=winter.said_to_ms,
    )
    visits = list(_visits(shelf, winter))
    charts = charts_of(record, shelf.readings, shelf.alerts, shelf.visits.visits(record.id, AT_MOST), *span, shelf.zone)
    data: Data = {
        "yard": shelf.yard_name,
        "boat": record.name,
        "id": record.id,
        "place": record.place,
        "mode": record.mode.value,
        "owner": record.owner.name if record.owner else "not recorded",
        "engineer": record.engineer,
        "laid_up": shelf.at(round(record.laid_up.timestamp() * 1000)),
        "winter": f"{winter.year}/{(winter.year + 1) % 100:02d}",
        "from": f"{shelf.at(winter.from_ms)} ({winter.begins})",
        "to": f"{shelf.at(winter.to_ms)}" + ("" if winter.ends == "now" else f" ({winter.ends})"),
        "made": shelf.at(shelf.now_ms),
        "zone": str(shelf.zone),
        "versions": [[str(v.version), shelf.at(v.from_ms), v.actor] for v in winter.versions],
        "systems": rows.systems(),
        "seacocks": rows.seacocks(),
        "proofs": rows.proofs(),
        "batteries": rows.batteries(),
        "plant": rows.plant(),
        "jobs": job_rows(record, shelf.figures),
        "left_open": left_open(gate, winter, shelf.at),
        "spring": spring_list(gate, shelf.at),
        "gate": _gate_words(gate, winter, shelf),
        "frost": exposed.frost(),
        "volts": exposed.volts(),
        "air": exposed.air(),
        "damp": exposed.damp(),
        "water": exposed.water(),
        "alerts": [_alert(r, shelf, winter) for r in answered],
        "visits": visits,
        "counted": [
            _counted(n, *words)
            for n, words in (
                (len(answered), ("alert", "alerts")),
                (len(visits), ("visit", "visits")),
                (still_open(gate), ("thing still to put right", "things still to put right")),
            )
        ],
        "coverage": [_covered(c, shelf, winter) for c in heard],
        "chain": _chain(shelf, answered),
        "blind": blind_spots(record),
        "dropped": _dropped(shelf, winter),
        "charts": [{"title": p.title, "says": list(p.sentences)} for p in charts],
    }
    return data, charts


def _alert(one: Response, shelf: Shelf, winter: Winter) -> list[str]:
    alert = one.alert
    title = put_into_words(alert.finding, winter.stored.vessel, shelf.zone, winter.to_ms).title
    return [
        shelf.at(alert.opened_ms),
        f"{title}\n{priority_words(alert.highest)}, {alert.id}",
        _after(one.seen),
        _after(one.confirmed),
        _after(one.cleared, name=False) + _came_back(one.reopened),
        _after(one.ended, name=False) if alert.ended_ms is not None else "still open",
    ]


def _came_back(times: int) -> str:
    return "" if not times else "; came back " + ("once" if times == 1 else f"{times} times")


def _after(done: Answered | None, *, name: bool = True) -> str:
    if done is None:
        return "\u2013"
    minutes = max(done.after_ms, 0) // 60_000
    days, rest = divmod(minutes, 24 * 60)
    took = f"{days} d {rest // 60} h" if days else f"{rest // 60} h {rest % 60:02d} min"
    return f"{took}, {done.by}" if name else took


def _visits(shelf: Shelf, winter: Winter) -> Iterator[list[str]]:
    record = winter.stored.vessel
    for visit in reversed(shelf.visits.visits(record.id, AT_MOST)):
        if winter.from_ms <= visit.at_ms <= winter.to_ms:
            yield [shelf.at(visit.at_ms), visit.actor, visit.visit.found.value, visit.visit.note]
    days = [datetime.fromtimestamp(ms / 1000, shelf.zone).date() for ms in (winter.from_ms, winter.to_ms)]
    for written in sorted(record.visits, key=lambda v: v.on):
        if days[0] <= written.on <= days[1]:
            yield [shelf.figures.date(written.on.isoformat()), written.by, "written in the record", written.note]


def _covered(one: Coverage, shelf: Shelf, winter: Winter) -> list[str]:
    named = [f"{shelf.at(a)} to {shelf.at(b)}" for a, b in sorted(one.gaps, key=lambda g: g[0] - g[1])[:GAPS_NAMED]]
    if len(one.gaps) > GAPS_NAMED:
        named.append(f"and {len(one.gaps) - GAPS_NAMED} shorter ones")
    # Rounded down: what had a gap is not 100 %.
    share = f"{int(one.share * 1000) / 10:.1f} %"
    what = f"{one.sensor.place}, {one.sensor.quantity.value.replace('_', ' ')} ({one.sensor.id})"
    if one.from_ms > winter.from_ms:
        what += f"; in the record from {shelf.at(one.from_ms)}"
    if one.to_ms < winter.to_ms:
        what += f"; taken out of it {shelf.at(one.to_ms)}"
    return [what, str(one.readings), str(one.hours), share, str(len(one.gaps)), "; ".join(named) or "none"]


def _dropped(shelf: Shelf, winter: Winter) -> str:
    dropped_ms = shelf.readings.raw_from_ms()
    if dropped_ms < winter.from_ms:
        return "Every single reading of this span is kept in the journal."
    return (
        f"Single readings up to {shelf.at(dropped_ms)} are no longer kept; their hours (low, high, mean, how many)"
        " stand in for them. Exposures and coverage are reckoned from hours throughout, so they are the same as before."
    )


def _gate_words(gate: Gate, winter: Winter, shelf: Shelf) -> str:
    slings = "" if gate.dryness is None else f" {slings_words(gate.dryness, shelf.at)}."
    return f"As it stood {shelf.at(winter.to_ms)}, with what people said of it since: {verdict(gate)}.{slings}"


def _counted(number: int, one: str, many: str) -> list[str]:
    return [str(number), one if number == 1 else many]


def _chain(shelf: Shelf, answered: list[Response]) -> str:
    """Give the hash of the last event of this boat's alerts: whoever has this paper can tell if the log was cut."""
    marks = [mark for r in answered for mark in shelf.alerts.marks(r.alert.id)[-1:]]
    last = max(marks, key=lambda mark: (mark.seq, mark.place), default=None)
    return "" if last is None else last.hash
