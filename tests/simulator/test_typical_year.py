"""Typical years become one winter: a real TMY3 file, and an EPW file written here."""

import builtins
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pvlib
import pytest

from monitor.model.document import DocumentError
from simulator.humidity import Over, ice_saturation_pa
from simulator.typical_year import read_typical_year
from simulator.vapour import saturation_pa
from simulator.weather import Weather

SAND_POINT = Path(pvlib.__path__[0]) / "data" / "703165TY.csv"


def _ms(*when: int) -> int:
    return round(datetime(*when, tzinfo=UTC).timestamp() * 1000)


@pytest.fixture(scope="module")
def sand_point() -> Weather:
    return read_typical_year(SAND_POINT, "tmy3", 2014)


def test_the_typical_year_is_whole_and_as_cold_as_it_was(sand_point: Weather) -> None:
    # REFERENCES.md: 8,760 h, coldest -10.6 degC, 1,640 h below zero.
    degc = [h.outside_degc for h in sand_point.hours]
    assert (len(degc), min(degc), sum(t < 0 for t in degc)) == (8760, -10.6, 1640)


def test_its_months_stand_in_one_winter(sand_point: Weather) -> None:
    # Nine hours behind UTC; the first hour ends at 01:00.
    assert (sand_point.from_ms, sand_point.to_ms) == (_ms(2014, 7, 1, 10), _ms(2015, 7, 1, 9))


def test_a_known_hour_stands_where_the_file_has_it(sand_point: Weather) -> None:
    # TMY3 manual (NREL/TP-581-43156): field 32 dry bulb, 35 dew point, 47 wind.
    lines = [line.split(",") for line in SAND_POINT.read_text().splitlines()[2:]]
    coldest = min(lines, key=lambda cells: float(cells[31]))
    assert (coldest[0][:5], coldest[1]) == ("02/21", "08:00")
    hour = sand_point.at(_ms(2015, 2, 21, 17))
    assert (hour.outside_degc, hour.wind_m_s) == (-10.6, float(coldest[46]))
    assert saturation_pa(hour.dew_point_degc) == pytest.approx(ice_saturation_pa(float(coldest[34])))


def test_dew_points_are_over_water_whatever_the_file_has(sand_point: Weather) -> None:
    stated = read_typical_year(SAND_POINT, "tmy3", 2014, over=Over.WATER)
    cold = [n for n, h in enumerate(sand_point.hours) if h.outside_degc < -5]
    gaps = [stated.hours[n].dew_point_degc - sand_point.hours[n].dew_point_degc for n in cold]
    # REFERENCES.md: mixing the conventions costs 0.5 to 3 K below zero.
    assert 0.5 < sum(gaps) / len(gaps) < 3


def test_the_sun_is_up_by_day_and_its_day_keeps_what_the_file_gives_it(sand_point: Weather) -> None:
    # Mean of the file: 94.66 W/m2 (read with pandas).
    assert sum(h.sun_w_m2 for h in sand_point.hours) / 8760 == pytest.approx(94.66, abs=0.05)
    brightest = max(sand_point.hours, key=lambda h: h.sun_w_m2)
    # Solar noon at 160.5 W is 22:42 UTC.
    assert datetime.fromtimestamp(brightest.at_ms / 1000, UTC).hour in {21, 22, 23, 0}


def test_rain_that_is_not_known_is_not_made_a_flood(sand_point: Weather) -> None:
    # The file writes 253 to 255 and 753 mm where it does not know.
    assert max(h.rain_mm for h in sand_point.hours) <= 100


def test_before_a_leap_year_28_february_stands_twice() -> None:
    leap = read_typical_year(SAND_POINT, "tmy3", 2015)
    assert len(leap.hours) == 8784
    assert leap.at(_ms(2016, 3, 1, 5)).outside_degc == leap.at(_ms(2016, 2, 29, 5)).outside_degc


def _epw(path: Path, leave_out: int = 0, degc: str = "") -> Path:
    head = ["LOCATION,Nowhere,-,-,made,000000,60.00,10.00,1.0,100.0", *(f"HEADER {n}" for n in range(7))]
    rows = []
    at = datetime(2001, 1, 1, tzinfo=UTC)
    for n in range(8760 - leave_out):
        t = at + timedelta(hours=n)
        # Fields by the EnergyPlus manual (Auxiliary Programs, EPW): 35, of which 7 dry bulb, 8 dew point, 10 pressure,
        # 14 global irradiance, 22 wind, 34 and 35 rain and its hours.
        cells = ["0"] * 35
        cells[:6] = [str(1990 + t.month), str(t.month), str(t.day), str(t.hour + 1), "60", "source"]
        cells[6:10] = [degc or f"{t.month - 10 + t.hour / 10}", "-12", "90", "100000"]
        cells[13], cells[21], cells[33], cells[34] = "100", "4.5", "1.5", "1"
        rows.append(",".join(cells))
    path.write_text("\n".join([*head, *rows]) + "\n", encoding="utf-8")
    return path


def test_an_epw_file_is_read_by_its_hours_ends(tmp_path: Path) -> None:
    read = read_typical_year(_epw(tmp_path / "a.epw"), "epw", 2020)
    # An hour ahead of UTC; hour 13 of 5 March ends at 13:00 there, 12:00 UTC: 3 - 10 + 12 / 10.
    hour = read.at(_ms(2021, 3, 5, 12))
    assert hour.outside_degc == pytest.approx(-5.8)
    assert (hour.wind_m_s, hour.rain_mm, hour.sun_w_m2) == (4.5, 1.5, 100)
    # 1000 hPa at 100 m are 1012 hPa at sea level (standard atmosphere: 1013.25 to 1001.3 hPa).
    assert hour.pressure_hpa == pytest.approx(1000 * 1013.25 / 1001.29, abs=0.1)


def test_a_typical_year_with_holes_says_so(tmp_path: Path) -> None:
    with pytest.raises(DocumentError) as refused:
        read_typical_year(_epw(tmp_path / "a.epw", leave_out=5, degc="99.9"), "epw", 2020)
    said = str(refused.value).splitlines()
    assert said[0].startswith("a.epw: 8755 different hours of a year are there")
    assert said[1].startswith("a.epw: temp_air: 8755 hours hold no figure from -60 to 50, the first of them hour 1")


@pytest.mark.parametrize("kind", ["tmy3", "epw"])
@pytest.mark.parametrize("text", ["", "time,outside_degc\n1,2\n", "a\n" * 20])
def test_a_file_of_another_kind_says_so(tmp_path: Path, kind: Any, text: str) -> None:
    path = tmp_path / "odd.txt"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(DocumentError, match=rf"odd.txt: cannot be read as {kind}"):
        read_typical_year(path, kind, 2020)


def test_without_the_library_the_error_names_the_extra(monkeypatch: pytest.MonkeyPatch) -> None:
    known = builtins.__import__

    def without(name: str, *rest: Any) -> Any:
        if name == "pvlib":
            raise ImportError(name)
        return known(name, *rest)

    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(DocumentError, match=r"703165TY.csv: .* install coldberth\[weather\]"):
        read_typical_year(SAND_POINT, "tmy3", 2014)
