"""Arrow and Parquet: read back by pyarrow, they say what the CSV says, and are whole or not there."""

import csv
import io
import json
import sys
from collections.abc import Iterator
from pathlib import Path

import known_yards  # noqa: F401 - lets kept_journal be found
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from boats import DAY, LAID_UP_MS, boat
from kept_journal import SENSORS, Yard, filled, settings_for

from monitor.cli import main
from monitor.model.scale import Flag
from monitor.model.views import Said
from monitor.report import arrow_file
from monitor.report.arrow_file import ROWS_A_GROUP, write_readings
from monitor.report.lines import utc
from monitor.store.retention import Retention

FORMS = pytest.mark.parametrize("form", ["arrow", "parquet"])


@pytest.fixture
def two_days(tmp_path: Path) -> Path:
    filled(tmp_path)
    return settings_for(tmp_path)


def read(path: Path, form: str) -> pa.Table:
    return pq.read_table(path) if form == "parquet" else pa.ipc.open_file(path).read_all()


def exported(settings: Path, form: str, out: Path, *more: str) -> int:
    words = ["export", "tern", "--what", "readings", "--format", form, "--out", str(out), *more]
    return main([*words, "--settings", str(settings)])


def as_csv(settings: Path, capsys: pytest.CaptureFixture[str], *more: str) -> list[dict[str, str]]:
    capsys.readouterr()
    assert main(["export", "tern", "--what", "readings", *more, "--settings", str(settings)]) == 0
    return list(csv.DictReader(io.StringIO(capsys.readouterr().out)))


def agree(table: pa.Table, lines: list[dict[str, str]]) -> None:
    assert table.num_rows == len(lines) > 0
    times = table["time"].cast(pa.int64()).to_pylist()
    for row, at_ms, line in zip(table.to_pylist(), times, lines, strict=True):
        for key in ("vessel", "sensor", "quantity", "unit", "kind", "quality"):
            assert row[key] == line[key]
        assert utc(at_ms) == line["time_utc"]
        for key in ("value", "low", "high"):
            assert ("" if row[key] is None else str(row[key])) == line[key]
        assert str(row["count"]) == line["count"]
        assert Flag(row["flag"]).name.lower().replace("_", " ") == line["quality"]
        assert ("its stated time was wrong" in line["remark"]) == row["clock_fault"]
        assert ("may be old" in line["remark"]) == row["may_be_old"]
        assert ("came late" in line["remark"]) == row["late"]


@FORMS
def test_it_says_what_the_csv_says(
    two_days: Path, tmp_path: Path, form: str, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / f"tern.{form}"
    assert exported(two_days, form, out) == 0
    assert capsys.readouterr().out == f"{out}: {2 * 144 * len(SENSORS)} rows written\n"
    agree(read(out, form), as_csv(two_days, capsys))
    day = ("--from", "2013-11-02T00:00Z", "--to", "2013-11-02T06:00Z")
    exported(two_days, form, out, *day)
    agree(read(out, form), as_csv(two_days, capsys, *day))


@FORMS
def test_the_columns_are_typed(two_days: Path, tmp_path: Path, form: str) -> None:
    out = tmp_path / "tern.table"
    exported(two_days, form, out)
    table = read(out, form)
    kinds = {field.name: field.type for field in table.schema}
    assert kinds["time"] == kinds["arrived"] == pa.timestamp("ms", tz="UTC")
    assert kinds["value"] == pa.float64()
    assert kinds["flag"] == pa.int8()
    assert all(pa.types.is_dictionary(kinds[key]) for key in ("vessel", "sensor", "quantity", "unit", "quality"))
    assert table["arrived"].null_count == 0


@FORMS
def test_hours_stand_in_where_readings_were_dropped(
    tmp_path: Path, form: str, capsys: pytest.CaptureFixture[str]
) -> None:
    yard = Yard(tmp_path / "journal.sqlite")
    yard.hear(LAID_UP_MS, LAID_UP_MS + 33 * DAY, ("outside",))
    retention = Retention(yard.journal, 30)
    while retention.step(LAID_UP_MS + 33 * DAY):
        pass
    yard.close()
    out, settings = tmp_path / "tern.table", settings_for(tmp_path)
    assert exported(settings, form, out) == 0
    table = read(out, form)
    assert {"hour mean", "reading"} == set(table["kind"].to_pylist())
    hours = [row for row in table.to_pylist() if row["kind"] == "hour mean"]
    assert all(row["arrived"] is None for row in hours)
    agree(table, as_csv(settings, capsys))


class Winter:
    """Readings that are made while they are asked for, and count how many are waiting to be written."""

    def __init__(self, rows: int) -> None:
        self.rows = rows
        self.asked = 0

    def said(self, _vessel: str, sensor: str, _from_ms: int | None, _to_ms: int) -> Iterator[Said]:
        if sensor != boat().sensors[0].id:
            return
        for at in range(self.rows):
            self.asked = at + 1
            yield Said(at, at, at, float(at), float(at), float(at), 1, Flag.PASS, late=at == 1, clock_fault=at == 0)


class Counting(io.BytesIO):
    """A file that notes how much had been asked for at each time something was written."""

    def __init__(self, winter: Winter) -> None:
        super().__init__()
        self.winter = winter
        self.at: list[int] = []

    def write(self, part: object) -> int:
        self.at.append(self.winter.asked)
        return super().write(part)  # type: ignore[arg-type] - whatever pyarrow writes


@FORMS
def test_a_winter_is_written_a_group_at_a_time(form: str) -> None:
    winter = Winter(2 * ROWS_A_GROUP + 10)
    file = Counting(winter)
    assert write_readings(file, form, winter, boat(), None, 2**40) == winter.rows  # type: ignore[arg-type]
    # The first group is in the file before the second has been asked for.
    assert ROWS_A_GROUP in file.at
    assert 2 * ROWS_A_GROUP in file.at
    source = pa.BufferReader(file.getvalue())
    if form == "parquet":
        made = pq.ParquetFile(source)
        assert [made.metadata.row_group(i).num_rows for i in range(made.num_row_groups)] == [ROWS_A_GROUP] * 2 + [10]
        table = made.read()
    else:
        reader = pa.ipc.open_file(source)
        assert reader.num_record_batches == 3
        table = reader.read_all()
    assert table["value"].to_pylist() == [float(at) for at in range(winter.rows)]
    assert [i for i, fault in enumerate(table["clock_fault"].to_pylist()) if fault] == [0]
    assert [i for i, late in enumerate(table["late"].to_pylist()) if late] == [1]


@FORMS
def test_nothing_heard_is_an_empty_table(form: str) -> None:
    file = io.BytesIO()
    assert write_readings(file, form, Winter(0), boat(), None, 2**40) == 0  # type: ignore[arg-type]
    source = pa.BufferReader(file.getvalue())
    assert (pq.read_table(source) if form == "parquet" else pa.ipc.open_file(source).read_all()).num_rows == 0


@FORMS
def test_a_file_that_breaks_off_leaves_the_one_before_and_nothing_beside_it(
    two_days: Path, tmp_path: Path, form: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "exports" / "tern.table"
    out.parent.mkdir()
    out.write_bytes(b"yesterday's")

    def breaks(*_: object) -> Iterator[list[object]]:
        yield []
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(arrow_file, "_groups", breaks)
    assert exported(two_days, form, out) != 0
    assert "cannot be written: No space left on device" in capsys.readouterr().err
    assert out.read_bytes() == b"yesterday's"
    assert list(out.parent.iterdir()) == [out]


def test_without_pyarrow_it_says_what_to_install_and_leaves_no_file(
    two_days: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    out = tmp_path / "tern.parquet"
    assert exported(two_days, "parquet", out) != 0
    assert "pip install 'coldberth[arrow]'" in capsys.readouterr().err
    assert not out.exists()
    assert main(["export", "tern", "--what", "readings", "--format", "json", "--settings", str(two_days)]) == 0
    assert json.loads(capsys.readouterr().out)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--what", "readings"], "name a file with --out"),
        (["--what", "alerts", "--out", "x.parquet"], "is for readings; write alerts as csv or json"),
        (["--what", "readings", "--out", "/nowhere/at/all.parquet"], "cannot be written"),
    ],
)
def test_what_cannot_be_written_as_a_table_is_said(
    words: list[str], says: str, two_days: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["export", "tern", "--format", "parquet", *words, "--settings", str(two_days)]) != 0
    assert says in capsys.readouterr().err


def test_a_vessel_that_is_not_there_leaves_no_file(
    two_days: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "x.arrow"
    words = ["export", "nobody", "--what", "readings", "--format", "arrow", "--out", str(out)]
    assert main([*words, "--settings", str(two_days)]) == 1
    assert "no vessel 'nobody'" in capsys.readouterr().err
    assert not out.exists()
