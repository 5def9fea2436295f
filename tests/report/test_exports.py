"""Exports: every reading once, hours where readings are gone, told as what they are; the commands say what is wrong."""

import csv
import io
import json
from collections.abc import Iterator
from pathlib import Path

import known_yards  # noqa: F401 - lets kept_journal be found
import pytest
from boats import DAY, HOUR, LAID_UP_MS, boat
from kept_journal import SENSORS, Yard, filled, rows, settings_for
from pypdf import PdfReader

from monitor.cli import main
from monitor.model.views import StoredRecord
from monitor.report.exposure_held import frost
from monitor.report.lines import COLUMNS, csv_lines, json_lines
from monitor.report.winter import Winter
from monitor.store.proof_rows import AT_ONCE
from monitor.store.retention import Retention
from monitor.store.view import JournalView

DAYS = 36


@pytest.fixture
def two_days(tmp_path: Path) -> Path:
    filled(tmp_path)
    return settings_for(tmp_path)


@pytest.fixture(scope="module")
def wintered(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    yard = Yard(tmp_path_factory.mktemp("whole") / "journal.sqlite")
    yard.hear(LAID_UP_MS, LAID_UP_MS + DAYS * DAY, ("engine-space", "outside"))
    yard.close()
    return yard.path.read_bytes()


@pytest.fixture
def dropped(tmp_path: Path, wintered: bytes) -> Iterator[JournalView]:
    path = tmp_path / "journal.sqlite"
    path.write_bytes(wintered)
    yard = Yard(path)
    retention = Retention(yard.journal, 30)
    before = JournalView(path)
    span = (LAID_UP_MS, LAID_UP_MS + DAYS * DAY)
    whole = StoredRecord(boat(), 1, span[0], "test")
    winter = Winter(2013, *span, "lay-up", "now", whole, (whole,), span[1])
    was = list(frost(winter, before))
    while retention.step(span[1]):
        pass
    assert list(frost(winter, before)) == was != []
    yield before
    before.close()
    yard.close()


def run(*words: str, settings: Path) -> int:
    return main([*words, "--settings", str(settings)])


def test_the_export_has_every_reading_once(two_days: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("export", "tern", "--what", "readings", settings=two_days) == 0
    found = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    assert len(found) == len({(r["sensor"], r["time_utc"]) for r in found}) == 2 * 144 * len(SENSORS)
    assert len(found) == len(rows(two_days.parent / "journal.sqlite"))
    assert {r["kind"] for r in found} == {"reading"}
    assert run("export", "tern", "--what", "readings", "--format", "json", settings=two_days) == 0
    assert len(json.loads(capsys.readouterr().out)) == len(found)


def test_hours_stand_in_for_dropped_readings_and_are_called_so(dropped: JournalView) -> None:
    end = LAID_UP_MS + DAYS * DAY
    found = list(dropped.said("tern", "engine-space", None, end))
    hours, raw = [s for s in found if s.hour], [s for s in found if not s.hour]
    assert len(raw) > AT_ONCE  # more than is read at once
    assert [s.stated_ms for s in found] == sorted({s.stated_ms for s in found})
    assert sum(s.count for s in hours) + len(raw) == DAYS * 144
    assert hours[-1].stated_ms + HOUR == raw[0].stated_ms


def test_a_span_takes_what_lies_in_it(dropped: JournalView) -> None:
    end = LAID_UP_MS + DAYS * DAY
    found = list(dropped.said("tern", "outside", end - DAY, end - HOUR))
    assert len(found) == 23 * 6
    assert list(dropped.said("tern", "no-such", None, end)) == []


def test_what_a_table_program_would_reckon_is_told_as_text() -> None:
    row = dict.fromkeys(COLUMNS, "") | {"remark": "=1+1", "value": -3.0}
    assert next(csv_lines(COLUMNS, [row])).splitlines()[1].endswith(",'=1+1")
    assert ",-3.0," in "".join(csv_lines(COLUMNS, [row]))
    assert json.loads("".join(json_lines([]))) == []


def test_record_and_alerts_are_exported_as_data(two_days: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("export", "tern", "--what", "record", "--format", "json", settings=two_days) == 0
    assert json.loads(capsys.readouterr().out)["name"] == "Tern"
    assert run("export", "tern", "--what", "alerts", settings=two_days) == 0
    assert capsys.readouterr().out.startswith("id,vessel,rule")
    file = two_days.parent / "alerts.json"
    assert run("export", "tern", "--what", "alerts", "--format", "json", "--out", str(file), settings=two_days) == 0
    assert isinstance(json.loads(file.read_text()), list)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["export", "nobody", "--what", "readings"], "no vessel 'nobody'"),
        (["export", "tern", "--what", "record"], "a record is no table"),
        (["export", "tern", "--what", "readings", "--from", "yesterday"], "--from 'yesterday' is no time"),
        (["export", "tern", "--what", "readings", "--from", "2030-01-01"], "is not before --to now"),
        (["report", "nobody"], "no vessel 'nobody'"),
        (["report", "tern", "--winter", "2050"], "the winter that begins in 2050 has not begun"),
        (["report", "tern", "--winter", "99999"], "there is no winter 99999"),
        (["report", "tern", "--out", "/nowhere/at/all.pdf"], "cannot be written"),
        (["incident", "0000"], "there is no alert '0000'"),
    ],
)
def test_what_cannot_be_done_is_said(
    words: list[str], says: str, two_days: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(*words, settings=two_days) != 0
    assert says in capsys.readouterr().err


def test_the_command_writes_the_report_beside_the_agent(two_days: Path) -> None:
    out = two_days.parent / "tern.pdf"
    assert run("report", "tern", "--winter", "2013", "--out", str(out), settings=two_days) == 0
    assert run("report", "tern", "--out", str(out), "--winter", settings=two_days) == 0  # her last one
    pages = PdfReader(out).pages
    assert "Winter report 2013/14" in pages[0].extract_text()
