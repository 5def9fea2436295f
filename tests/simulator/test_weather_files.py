"""Any CSV of hours becomes weather, or says everything that is wrong with it."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from monitor.model.document import DocumentError
from simulator.humidity import Over
from simulator.sun import Place
from simulator.weather import HOUR_MS, Weather, read_csv


def _read(tmp_path: Path, text: str, over: Over = Over.WATER, longest_gap_h: float = 36) -> Weather:
    path = tmp_path / "hours.csv"
    path.write_text(text, encoding="utf-8")
    return read_csv(path, over, longest_gap_h)


def _refusal(tmp_path: Path, text: str) -> list[str]:
    with pytest.raises(DocumentError) as refused:
        _read(tmp_path, text)
    return str(refused.value).splitlines()


def test_time_temperature_and_humidity_are_enough(tmp_path: Path) -> None:
    read = _read(
        tmp_path, "time,humidity_percent,outside_degc\n2026-01-01T01:00+01:00,80,-5\n2026-01-01T03:00Z,80,10\n"
    )
    assert read.from_ms == datetime(2026, 1, 1, tzinfo=UTC).timestamp() * 1000
    assert [h.outside_degc for h in read.hours] == [-5, 0, 5, 10]
    # REFERENCES.md: -5 degC, 80 % -> -7.92 degC; 10, 80 -> 6.71. The formulas of watch and simulator differ by 0.02 K.
    assert (read.hours[0].dew_point_degc, read.hours[-1].dew_point_degc) == pytest.approx((-7.92, 6.71), abs=0.02)


def test_humidity_over_ice_is_told_from_humidity_over_water(tmp_path: Path) -> None:
    text = "time,outside_degc,humidity_percent\n2026-01-01T00:00Z,-10,100\n2026-01-01T02:00Z,10,100\n"
    dew = [h.dew_point_degc for h in _read(tmp_path, text, Over.ICE).hours]
    # Saturated over ice at -10 degC: 259.9 Pa (Goff-Gratch, WMO), which over water is a dew point of -11.2 degC.
    assert dew[0] == pytest.approx(-11.2, abs=0.05)
    assert dew[-1] == pytest.approx(10)
    assert _read(tmp_path, text).hours[0].dew_point_degc == pytest.approx(-10)


def test_a_dew_point_over_ice_becomes_one_over_water(tmp_path: Path) -> None:
    text = "time,outside_degc,dew_point_degc\n2026-01-01T00:00Z,-5,-11.39\n2026-01-01T02:00Z,-5,-11.39\n"
    # REFERENCES.md: dew point -12.80 is frost point -11.39 degC. By Buck instead of Sonntag 0.3 % of pressure, 0.03 K.
    assert _read(tmp_path, text, Over.ICE).hours[1].dew_point_degc == pytest.approx(-12.80, abs=0.04)


def test_sun_is_read_where_there_is_some_and_estimated_where_the_place_is_known(tmp_path: Path) -> None:
    days = [f"2026-03-0{n // 24 + 1}T{n % 24:02}:00Z,{n % 24},0" for n in range(48)]
    path = tmp_path / "hours.csv"
    path.write_text("\n".join(["time,outside_degc,dew_point_degc", *days]), encoding="utf-8")
    assert {h.sun_w_m2 for h in read_csv(path).hours} == {0.0}
    estimated = read_csv(path, place=Place(50, 0)).hours
    assert max(estimated, key=lambda h: h.sun_w_m2).at_ms % (24 * HOUR_MS) == 12 * HOUR_MS
    path.write_text("\n".join(["time,outside_degc,dew_point_degc,sun_w_m2", *(d + ",70" for d in days)]))
    assert {h.sun_w_m2 for h in read_csv(path, place=Place(50, 0)).hours} == {70.0}


def test_rain_of_rows_off_the_hour_falls_in_the_hours_it_fell_in(tmp_path: Path) -> None:
    text = (
        "time,outside_degc,dew_point_degc,rain_mm\n"
        "2026-01-01T00:00Z,1,0,0\n2026-01-01T00:45Z,1,0,3\n2026-01-01T01:30Z,1,0,9\n2026-01-01T05:30Z,1,0,4\n"
        "2026-01-01T07:00Z,1,0,0\n"
    )
    # 3 mm in the 45 min before 00:45, 9 mm in the 45 min before 01:30 (a third before 01:00), 4 mm in the last hour.
    assert [h.rain_mm for h in _read(tmp_path, text).hours] == pytest.approx([0, 6, 6, 0, 0, 2, 2, 0])


def test_everything_that_is_wrong_is_told_at_once(tmp_path: Path) -> None:
    said = _refusal(
        tmp_path,
        "# made by hand\n"
        "time,outside_degc,dew_point_degc,wind_m_s\n"
        "2026-01-01T00:00Z,41,0,3\n"  # degrees Fahrenheit can pass: the span is what weather can be
        "2026-01-01 01:00,1,0,3\n"
        "yesterday,1,0,3\n"
        "2026-01-01T03:00Z,cold,0,3\n"
        "2026-01-01T03:00Z,1,0,3\n"
        "2026-01-01T04:00Z,1,9,300\n"
        "2026-01-01T05:00Z,1\n",
    )
    assert said == [
        "hours.csv: line 4, time: '2026-01-01 01:00' has no UTC offset: write it like 2026-01-31T06:00Z or ...+01:00",
        "hours.csv: line 5, time: 'yesterday' is no time: write it like 2026-01-31T06:00Z",
        "hours.csv: line 6, outside_degc: 'cold' is no number: leave the cell empty where nothing was observed",
        (
            "hours.csv: line 7, time: '2026-01-01T03:00Z' does not come after the row before: "
            "sort the rows; take out repeats"
        ),
        "hours.csv: line 8, wind_m_s: 300 lies outside 0 to 60: check the unit; empty means not observed",
        "hours.csv: line 8, dew_point_degc: 9 lies above its air of 1: leave the bad cell empty",
        "hours.csv: line 9, row: has 2 cells where the header has 4: mend it",
    ]


def test_columns_that_are_unknown_or_missing_are_told(tmp_path: Path) -> None:
    said = _refusal(tmp_path, "when,outside_degc,outside_degc\n2026-01-01T00:00Z,1,1\n")
    assert [line.split(": ")[1:3] for line in said] == [
        ["line 1, when", "is no known column"],
        ["line 1, outside_degc", "stands twice"],
        ["line 1, time", "is missing"],
        ["line 1, dew_point_degc or humidity_percent", "is missing"],
    ]


@pytest.mark.parametrize("text", ["", "# nothing\n"])
def test_a_file_without_a_header_says_which_columns_it_needs(tmp_path: Path, text: str) -> None:
    assert "name the columns: time, outside_degc" in _refusal(tmp_path, text)[0]


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ("2026-01-01T00:00Z,1,0\n", "has fewer than two figures"),
        ("2026-01-01T00:00Z,,0\n2026-01-01T01:00Z,,0\n", "outside_degc: has fewer than two figures"),
        ("2026-01-01T00:00Z,1,0\n2026-01-01T00:10Z,1,0\n", "less than two hours"),
    ],
)
def test_a_file_with_too_little_in_it_is_refused(tmp_path: Path, rows: str, said: str) -> None:
    assert said in _refusal(tmp_path, "time,outside_degc,dew_point_degc\n" + rows)[0]


def test_a_gap_is_filled_up_to_the_length_stated_and_refused_beyond(tmp_path: Path) -> None:
    text = "time,outside_degc,dew_point_degc\n2026-01-01T00:00Z,0,0\n2026-01-01T10:00Z,10,\n2026-01-02T00:00Z,10,0\n"
    assert _read(tmp_path, text, longest_gap_h=24).hours[5].outside_degc == pytest.approx(5)
    with pytest.raises(DocumentError) as refused:
        _read(tmp_path, text, longest_gap_h=13)
    assert [line.split(" without")[0] for line in str(refused.value).splitlines()] == [
        "hours.csv: line 4, outside_degc: 14 h",
        "hours.csv: line 4, dew_point_degc: 24 h",
    ]


def test_a_column_that_dies_before_the_file_ends_is_a_gap(tmp_path: Path) -> None:
    rows = "".join(f"2026-01-{day:02}T00:00Z,1,{0 if day < 4 else ''}\n" for day in range(1, 9))
    assert "dew_point_degc: 120 h without" in _refusal(tmp_path, "time,outside_degc,dew_point_degc\n" + rows)[0]


def test_a_file_of_nothing_but_mistakes_does_not_fill_the_screen(tmp_path: Path) -> None:
    said = _refusal(tmp_path, "time,outside_degc,dew_point_degc\n" + "soon,1,0\n" * 500)
    assert len(said) == 41
    assert said[-1] == "hours.csv: and more: mend these first"
