"""Exports as lines of text, made one after another: a winter of readings is never in memory."""

import csv
import io
import json
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from pydantic import TypeAdapter

from monitor.model.alert import Alert
from monitor.model.vessel import Vessel
from monitor.model.views import ReadingView, Said

COLUMNS = (
    "vessel",
    "sensor",
    "quantity",
    "unit",
    "kind",
    "time_utc",
    "time_yard",
    "value",
    "low",
    "high",
    "count",
    "quality",
    "remark",
)
ALERT_COLUMNS = (
    *("id", "vessel", "rule", "subject", "state", "priority", "highest", "opened_utc", "returned_utc", "ended_utc"),
    *("acknowledged_utc", "acknowledged_by", "confirmed_utc", "confirmed_by"),
)
_FORMULA = ("=", "+", "-", "@", "\t", "\r")
_alert = TypeAdapter(Alert)


def utc(at_ms: int) -> str:
    """Give a time in UTC, to the millisecond, as ISO 8601; as plain ms where no calendar has it."""
    try:
        return datetime.fromtimestamp(at_ms / 1000, UTC).isoformat(timespec="milliseconds")
    except (ValueError, OverflowError, OSError):
        return f"{at_ms} ms"


def yard(at_ms: int, zone: ZoneInfo) -> str:
    """Give the same time as the yard's clock has it, with its offset."""
    try:
        return datetime.fromtimestamp(at_ms / 1000, zone).isoformat(timespec="milliseconds")
    except (ValueError, OverflowError, OSError):
        return f"{at_ms} ms"


def reading_rows(
    readings: ReadingView, vessel: Vessel, from_ms: int | None, to_ms: int, zone: ZoneInfo
) -> Iterator[dict[str, object]]:
    """Give what all of a vessel's sensors said, sensor by sensor, each oldest first."""
    for sensor in vessel.sensors:
        for one in readings.said(vessel.id, sensor.id, from_ms, to_ms):
            yield {
                "vessel": vessel.id,
                "sensor": sensor.id,
                "quantity": sensor.quantity.value,
                "unit": sensor.unit,
                "kind": "hour mean" if one.hour else "reading",
                "time_utc": utc(one.stated_ms),
                "time_yard": yard(one.stated_ms, zone),
                "value": one.value,
                "low": one.low,
                "high": one.high,
                "count": one.count,
                "quality": one.flag.name.lower().replace("_", " "),
                "remark": _remark(one),
            }


def csv_lines(columns: tuple[str, ...], rows: Iterable[dict[str, object]]) -> Iterator[str]:
    """Write rows as CSV (RFC 4180), a line at a time."""
    out = io.StringIO()
    writer = csv.DictWriter(out, columns, lineterminator="\r\n")
    writer.writeheader()
    for row in rows:
        writer.writerow({key: _cell(value) for key, value in row.items()})
        yield _taken(out)
    yield _taken(out)


def json_lines(rows: Iterable[dict[str, object]]) -> Iterator[str]:
    """Write rows as one JSON array, an element at a time."""
    before = "[\n"
    for row in rows:
        yield before + json.dumps(row, ensure_ascii=False)
        before = ",\n"
    yield "[]\n" if before == "[\n" else "\n]\n"


def alert_rows(alerts: Iterable[Alert]) -> Iterator[dict[str, object]]:
    """Give alerts with their times in UTC, as the columns of a table."""
    for a in alerts:
        times = {
            name: getattr(a, f"{name}_ms") for name in ("opened", "returned", "ended", "acknowledged", "confirmed")
        }
        written = {f"{name}_utc": None if ms is None else utc(ms) for name, ms in times.items()}
        yield {**{key: alert_json(a)[key] for key in ALERT_COLUMNS if not key.endswith("_utc")}, **written}


def alert_json(alert: Alert) -> dict[str, object]:
    """Give an alert with its finding as data."""
    return dict(_alert.dump_python(alert, mode="json")) | {
        "priority": alert.priority.word,
        "highest": alert.highest.word,
        "opened_utc": utc(alert.opened_ms),
    }


def _remark(one: Said) -> str:
    words = [
        ("its stated time was wrong", one.clock_fault),
        ("may be old", not one.news),
        ("came late", one.late),
    ]
    return "; ".join(text for text, holds in words if holds)


def _cell(value: object) -> object:
    """Keep a table program from reckoning what somebody wrote."""
    return f"'{value}" if isinstance(value, str) and value.startswith(_FORMULA) else value


def _taken(out: io.StringIO) -> str:
    text = out.getvalue()
    out.seek(0)
    out.truncate()
    return text
