"""Which charts a vessel has, and what they say."""

from zoneinfo import ZoneInfo

from monitor.charts import Panel, panels
from monitor.model.document import read_vessel
from monitor.model.scale import Flag
from monitor.model.vessel import Vessel
from monitor.model.views import Bucket, Buckets

HOUR_MS = 3_600_000
T0 = 1_386_547_200_000
ZONE = ZoneInfo("Europe/London")

TERN = """
id = "tern"
name = "Tern"
yard = "eiderhythe"
mode = "afloat laid up"
berth = "N7"
laid_up = 2013-10-31T16:00:00Z
engineer = "Odile Marrick"
outside_sensor = "air"
sensors = [
  { id = "air", quantity = "temperature", place = "rail", interval_s = 3600, supply = "own cell" },
  { id = "one", quantity = "temperature", place = "saloon, under the table", interval_s = 3600, supply = "own cell" },
  { id = "two", quantity = "temperature", place = "saloon, overhead", interval_s = 3600, supply = "own cell" },
  { id = "rh", quantity = "humidity", place = "saloon", interval_s = 3600, supply = "own cell" },
  { id = "volts", quantity = "voltage", place = "battery", interval_s = 3600, supply = "own cell" },
  { id = "level", quantity = "level", place = "bilge", interval_s = 3600, supply = "own cell" },
  { id = "float", quantity = "float_switch", place = "bilge", interval_s = 3600, supply = "own cell" },
]
liquid_systems = [
  { id = "a", name = "Heads", kind = "heads", state = "wet", liquid = "fresh water", sensor = "one" },
  { id = "b", name = "Galley", kind = "fresh water", state = "not proven" },
  { id = "c", name = "Tank", kind = "fresh water", state = "drained", drains = [{ name = "sump", probed = true }] },
]
batteries = [{ id = "house", name = "House", chemistry = "agm", capacity_ah = 100, voltage_sensor = "volts" }]
bilges = [{ id = "main", name = "Main bilge", level_sensor = "level", high_m = 0.1, starter_m = 0.28, sole_m = 0.5 }]
spaces = [{ id = "saloon", name = "Saloon", humidity_sensor = "rh", temperature_sensor = "one" }]
dehumidifier = { running = true, space = "saloon", hold_below_rh = 60 }
"""
VALUES = {"air": -4.0, "one": 10.0, "two": 11.0, "rh": 80.0, "volts": 12.7, "level": 0.15}


def tern() -> Vessel:
    return read_vessel(TERN, "tern.toml")


def buckets_of(sensor: str) -> Buckets:
    value = VALUES[sensor]
    return Buckets(HOUR_MS, [Bucket(T0 + n * HOUR_MS, value, value, value, 1, Flag.PASS) for n in range(25)])


def drawn(vessel: Vessel) -> dict[str, Panel]:
    return {p.key: p for p in panels(vessel, buckets_of, [], T0, T0 + 24 * HOUR_MS, ZONE)}


def made(key: str) -> Panel:
    return next(p for p in panels(tern(), buckets_of, [], T0, T0 + 24 * HOUR_MS, ZONE) if p.key == key)


def test_a_vessel_has_the_charts_her_sensors_can_fill() -> None:
    assert set(drawn(tern())) == {"temperatures", "humidity", "dew-point", "volts", "bilge"}
    bare = {"sensors": (), "liquid_systems": (), "batteries": (), "bilges": (), "spaces": (), "outside_sensor": None}
    assert drawn(tern().model_copy(update=bare)) == {}


def test_lines_of_one_place_are_told_apart_by_the_whole_of_it() -> None:
    names = [s.name for s in made("temperatures").series]
    assert names == ["outside air", "saloon, under the table", "saloon, overhead"]


def test_what_can_freeze_is_one_line_at_its_point_and_what_is_proven_dry_is_none() -> None:
    assert [(line.name, line.value) for line in made("temperatures").limits] == [
        ("freezes at 0.0 °C: heads and galley", 0.0)
    ]


def test_levels_are_millimetres_with_the_high_mark_and_the_first_thing_water_reaches() -> None:
    bilge = made("bilge")
    assert bilge.series[0].points[0].value == 150.0
    assert [(line.name, line.value) for line in bilge.limits] == [
        ("high water: 100 mm", 100.0),
        ("reaches the starter motor: 280 mm", 280.0),
    ]
    assert "High water: 100 mm; Main bilge went above it." in bilge.sentences


def test_the_coldest_surface_lies_between_outside_and_inside_by_its_factor() -> None:
    dew, surface = made("dew-point").series
    assert surface.points[0].value == -4.0 + 0.3 * 14.0
    # 10 degC at 80 % over water: Magnus as WMO-No. 8 gives 6.7 degC.
    assert round(dew.points[0].value or 0.0, 1) == 6.7


def test_a_running_dehumidifier_draws_what_it_should_hold() -> None:
    assert [line.value for line in made("humidity").limits] == [60.0]


def test_suspect_readings_reckon_no_dew_point() -> None:
    def doubtful(sensor: str) -> Buckets:
        good = buckets_of(sensor)
        flags = [Flag.SUSPECT if sensor == "rh" and n == 3 else Flag.PASS for n in range(25)]
        rows = [Bucket(b.start_ms, b.low, b.high, b.mean, 1, f) for b, f in zip(good.buckets, flags, strict=True)]
        return Buckets(HOUR_MS, rows)

    found = {p.key: p for p in panels(tern(), doubtful, [], T0, T0 + 24 * HOUR_MS, ZONE)}
    assert len(found["dew-point"].series[0].points) == 24
    assert len(found["humidity"].series[0].points) == 25


def test_a_chart_with_nothing_in_it_says_so() -> None:
    (first, *_) = panels(tern(), lambda _: Buckets(HOUR_MS, []), [], T0, T0 + HOUR_MS, ZONE)
    assert first.sentences == ("Nothing was heard in this time.",)


def test_a_sensor_that_fell_silent_is_said_to_have() -> None:
    def short(sensor: str) -> Buckets:
        return Buckets(HOUR_MS, buckets_of(sensor).buckets[: 3 if sensor == "two" else 25])

    found = next(p for p in panels(tern(), short, [], T0, T0 + 24 * HOUR_MS, ZONE) if p.key == "temperatures")
    assert "Saloon, overhead: 11.0 °C throughout, not heard since 02:00 on 9 Dec." in found.sentences


def test_a_limit_is_held_against_the_line_it_is_for() -> None:
    # Outside air is below freezing; the heads' own thermometer and the galley's (which is outside air) tell them apart.
    assert (
        "Freezes at 0.0 °C: heads and galley; outside air went below it; saloon, under the table stayed above it."
        in (made("temperatures").sentences)
    )


def test_a_line_ends_at_its_last_reading_where_that_is_told() -> None:
    half_past = T0 + 24 * HOUR_MS + HOUR_MS // 2
    told = panels(tern(), buckets_of, [], T0, half_past, ZONE, {"level": (half_past, 0.408)})
    (bilge,) = (panel for panel in told if panel.key == "bilge")
    assert (bilge.series[0].points[-1].at_ms, bilge.series[0].points[-1].value) == (half_past, 408.0)
    assert bilge.sentences[0] == "Main bilge: 150 to 408 mm, last 408 mm at 00:30."


def test_a_sentence_that_has_no_last_reading_says_that_it_tells_a_mean() -> None:
    buckets = [Bucket(T0 + n * HOUR_MS, 0.1, 0.1 + n / 100, 0.1 + n / 200, 6, Flag.PASS) for n in range(25)]
    told = panels(tern(), lambda _: Buckets(HOUR_MS, buckets), [], T0, T0 + 25 * HOUR_MS, ZONE)
    (bilge,) = (panel for panel in told if panel.key == "bilge")
    assert bilge.sentences[0] == "Main bilge: 100 to 340 mm, on average 220 mm since 00:00."
