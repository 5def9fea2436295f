"""The pack of one alert: everything that bears on it, in one ZIP file that anybody can open."""

import io
import json
import zipfile
from collections.abc import Iterable, Iterator
from typing import IO

from monitor.model.alert import Alert
from monitor.model.document import write_vessel
from monitor.model.views import StoredRecord
from monitor.report.gather import AT_MOST, Shelf
from monitor.report.lines import COLUMNS, alert_json, csv_lines, reading_rows, utc, yard

DAY_MS = 86_400_000
_EVENTS = ("seq", "place", "at_utc", "at_yard", "change", "state", "priority", "was", "actor", "note", "hash")
_NOTICES = ("told_utc", "told_yard", "person", "channel", "why", "reason", "sent_utc", "given_up_utc", "tries", "error")
_VISITS = ("at_utc", "at_yard", "by", "found", "note", "looked_into_this_alert")

_README = """Incident pack of alert {id}, {boat} ({vessel})
Made {made}, by the yard {yard_name}.

Times: *_utc is UTC, *_yard is the yard's own ({zone}). All are the watch's time, but sent_utc and given_up_utc in
notices.csv, which are the machine's wall clock when the message went or was given up.

alert.json     the alert as it stands now, with the finding behind it: what it rests on, its figures, its limit
events.csv     what happened to it and who did it. hash is of a chain over all alerts of the yard, by seq and place:
               each covers the one before it, so that a later edit shows; coldberth check follows it
readings.csv   what every sensor of the boat said from {begin} to {end}. kind is
               "reading", or "hour mean" where single readings are no longer kept and their hour stands in: value is its
               mean, low and high its ends, count how many it sums up. quality is the flag of the checks (QARTOD)
notices.csv    who was told of it, when, by which channel and why, and what came of it. Addresses are left out
visits.csv     who was aboard in that time, and what they wrote down
record.toml    the lay-up record that was valid when the alert opened: version {version}, from {record_from}, by {actor}
{later}
Advisory: this tells what sensors and people said. What no sensor can see is not in it.
"""


def incident_pack(shelf: Shelf, alert: Alert, out: IO[bytes]) -> None:
    """Write the pack of an alert.

    Args:
        shelf: where everything is taken from.
        alert: the alert.
        out: what it is written to, at which can be sought.
    """
    versions = shelf.records.versions(alert.vessel)
    stored = _valid_at(versions, alert.opened_ms)
    begin_ms = alert.opened_ms - DAY_MS
    events = shelf.alerts.events(alert.id)
    # What happened to it later is part of it: an alert that stands may have become worse after weeks.
    last_ms = max([alert.opened_ms, alert.ended_ms or 0, *(event.at_ms for event in events)])
    end_ms = min(last_ms + DAY_MS, shelf.now_ms + 1)
    later = [v for v in reversed(versions) if alert.opened_ms < v.from_ms < end_ms]
    sensors = {sensor.id: sensor for v in (stored, *later) for sensor in v.vessel.sensors}
    vessel = stored.vessel.model_copy(update={"sensors": tuple(sensors.values())})
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as pack:
        pack.writestr("README.txt", _readme(shelf, alert, stored, later, begin_ms, end_ms))
        pack.writestr("alert.json", json.dumps(alert_json(alert), indent=1, ensure_ascii=False))
        pack.writestr("events.csv", _table(_EVENTS, _events(shelf, alert)))
        pack.writestr("notices.csv", _table(_NOTICES, _notices(shelf, alert)))
        pack.writestr("visits.csv", _table(_VISITS, _visits(shelf, alert, begin_ms, end_ms)))
        pack.writestr("record.toml", write_vessel(stored.vessel))
        for version in later:
            pack.writestr(f"record-version-{version.version}.toml", write_vessel(version.vessel))
        with pack.open("readings.csv", "w", force_zip64=True) as file:
            rows = reading_rows(shelf.readings, vessel, begin_ms, end_ms, shelf.zone)
            for line in csv_lines(COLUMNS, rows):
                file.write(line.encode())


def _valid_at(versions: list[StoredRecord], at_ms: int) -> StoredRecord:
    return next((v for v in versions if v.from_ms <= at_ms), versions[-1])


def _readme(
    shelf: Shelf, alert: Alert, stored: StoredRecord, later: list[StoredRecord], begin_ms: int, end_ms: int
) -> str:
    changes = (f"record-version-{v.version}.toml came {utc(v.from_ms)}, by {v.actor}\n" for v in later)
    return _README.format(
        id=alert.id,
        boat=stored.vessel.name,
        vessel=alert.vessel,
        made=utc(shelf.now_ms),
        yard_name=shelf.yard_name,
        zone=shelf.zone,
        begin=utc(begin_ms),
        end=utc(end_ms),
        version=stored.version,
        record_from=utc(stored.from_ms),
        actor=stored.actor,
        later="".join(changes),
    )


def _events(shelf: Shelf, alert: Alert) -> Iterator[tuple[object, ...]]:
    for mark, e in zip(shelf.alerts.marks(alert.id), shelf.alerts.events(alert.id), strict=False):
        was = "" if e.was is None else e.was.word
        times = (utc(e.at_ms), yard(e.at_ms, shelf.zone))
        yield mark.seq, mark.place, *times, e.change, e.state, e.priority.word, was, e.actor, e.note, mark.hash


def _notices(shelf: Shelf, alert: Alert) -> Iterator[tuple[object, ...]]:
    for line in shelf.alerts.notices_of(alert.id):
        n = line.notice
        came = ("" if ms is None else utc(ms) for ms in (line.sent_ms, line.given_up_ms))
        yield (
            utc(n.at_ms),
            yard(n.at_ms, shelf.zone),
            n.person,
            n.channel,
            n.kind,
            n.reason,
            *came,
            line.tries,
            line.error,
        )


def _visits(shelf: Shelf, alert: Alert, begin_ms: int, end_ms: int) -> Iterator[tuple[object, ...]]:
    for v in reversed(shelf.visits.visits(alert.vessel, AT_MOST)):
        if begin_ms <= v.at_ms <= end_ms or alert.id in v.visit.confirmed:
            seen = "yes" if alert.id in v.visit.confirmed else "no"
            yield utc(v.at_ms), yard(v.at_ms, shelf.zone), v.actor, v.visit.found, v.visit.note, seen


def _table(columns: tuple[str, ...], rows: Iterable[tuple[object, ...]]) -> str:
    out = io.StringIO()
    out.writelines(csv_lines(columns, (dict(zip(columns, row, strict=True)) for row in rows)))
    return out.getvalue()
