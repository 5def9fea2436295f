"""A picture of the last days of what an alert rests on: what is drawn, what it says, how large it is."""

import math
import re
import struct
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from boats import DAY, HOUR, LAID_UP_MS, boat

from monitor.messages.letterhead import Picture
from monitor.model.alert import Alert, AlertChange, AlertEvent
from monitor.model.batch import Batch
from monitor.model.finding import Figure, Finding
from monitor.model.inputs import RecordVersion
from monitor.model.reading import Reading, Seen
from monitor.model.scale import AlertState, Flag, Priority, Sure
from monitor.model.vessel import Vessel
from monitor.model.views import Buckets, Newest
from monitor.picture import SPAN_DAYS, Pictures, picture
from monitor.store.journal import Journal
from monitor.store.view import JournalView

ZONE = ZoneInfo("America/New_York")
NOW = LAID_UP_MS + 70 * DAY
TERN = boat()
MOST_BYTES = 30_000  # 41 kB as it goes into a mail: a whole mail is then under 60 kB
BY_SENSOR = {"outside": -6.0, "engine-space": -2.0, "house-volts": 12.4, "bilge-level": 0.04}


Draw = Callable[..., Picture | None]


def heard(hours: int) -> Iterator[Reading]:
    """Readings of every sensor, each swinging through the day about its own mean."""
    for sensor, mean in BY_SENSOR.items():
        for at_ms in range(NOW - hours * HOUR, NOW, HOUR):
            value = mean * (1 + 0.3 * math.sin(at_ms / DAY * 2 * math.pi))
            yield Reading("tern", sensor, at_ms, at_ms, at_ms, value, flag=Flag.PASS)


@pytest.fixture
def draw(tmp_path: Path) -> Iterator[Draw]:
    """Draws an alert from a journal that holds it and so many hours of readings."""
    journal, view = Journal(tmp_path / "journal.db"), JournalView(tmp_path / "journal.db")

    def drawn(about: Alert, hours: int = 24 * SPAN_DAYS, vessel: Vessel = TERN) -> Picture | None:
        readings = list(enumerate(heard(hours), start=2))
        record = RecordVersion(vessel, LAID_UP_MS, "test")
        event = AlertEvent(about.id, "tern", NOW - DAY, AlertChange.OPENED, about.state, about.priority, "watch")
        last = len(readings) + 2
        journal.append(
            Batch(
                inputs=[(1, record)],
                readings=readings,
                events=[(last, 0, event)],
                alerts={about.id: about},
                last_seq=last,
            )
        )
        return picture(view, view, vessel, about, NOW, ZONE)

    yield drawn
    view.close()
    journal.close()


def alert(rule: str, subject: str, *sensors: str) -> Alert:
    rests_on = tuple(Seen(sensor, NOW - HOUR, 1.0) for sensor in sensors)
    figure = Figure(None, None, "")
    finding = Finding(rule, subject, "x", Priority.ALARM, figure, None, Sure.LIKELY, (), (), (), rests_on=rests_on)
    return Alert(
        "a", "tern", rule, subject, AlertState.UNACKNOWLEDGED, Priority.ALARM, Priority.ALARM, NOW - DAY, finding
    )


@pytest.mark.parametrize(
    ("about", "title"),
    [
        (alert("frost", "closed-cooling", "engine-space"), "Temperatures."),
        (alert("frost", "closed-cooling", "outside", "engine-space"), "Temperatures."),
        (alert("battery", "house", "house-volts"), "Battery volts."),
        (alert("bilge", "bilge", "bilge-float"), "Bilge level."),
        (alert("silence", "house-volts"), "Battery volts."),
    ],
)
def test_the_chart_of_what_an_alert_rests_on_is_drawn_small_enough_for_a_mail(
    draw: Draw, about: Alert, title: str
) -> None:
    made = draw(about)
    assert made is not None
    assert made.says.startswith(title)
    assert len(made.png) <= MOST_BYTES
    assert made.png.startswith(b"\x89PNG")
    width, height = struct.unpack(">II", made.png[16:24])
    assert width >= 2 * 360  # a phone's width, twice as fine
    assert height >= 300


def test_only_the_sensors_it_rests_on_are_drawn_and_told_of(draw: Draw) -> None:
    made = draw(alert("frost", "closed-cooling", "engine-space"))
    assert made is not None
    assert "Engine space: \u22122.6 to 1.0 °C, last 1.0 °C at 03:00." in made.says
    assert "utside" not in made.says


def test_it_tells_the_reading_that_the_alert_rests_on_and_no_other_level(draw: Draw) -> None:
    made = draw(alert("bilge", "bilge", "bilge-level"))
    assert made is not None
    assert made.says.startswith("Bilge level. Bilge: 28 to 1000 mm, last 1000 mm at 03:00.")
    assert made.name == "Bilge level"
    assert "average" not in made.says


def test_without_such_a_reading_it_tells_the_last_one_heard(draw: Draw) -> None:
    made = draw(alert("bilge", "bilge", "bilge-float"))
    assert made is not None
    assert re.search(r"Bilge: 28 to 52 mm, last \d\d mm at 03:00\.", made.says)


class Counting:
    """A journal's view that counts how often it is asked for a sensor's readings."""

    def __init__(self, view: JournalView) -> None:
        self.view, self.asked = view, 0

    def newest(self, vessel: str) -> dict[str, Newest]:
        return self.view.newest(vessel)

    def buckets(self, vessel: str, sensor: str, from_ms: int, to_ms: int, at_most: int) -> Buckets:
        self.asked += 1
        return self.view.buckets(vessel, sensor, from_ms, to_ms, at_most)


def test_everybody_told_at_one_moment_is_sent_the_picture_that_was_drawn_once(tmp_path: Path) -> None:
    journal, view = Journal(tmp_path / "journal.db"), JournalView(tmp_path / "journal.db")
    readings = list(enumerate(heard(24), start=2))
    journal.append(Batch(inputs=[(1, RecordVersion(TERN, LAID_UP_MS, "test"))], readings=readings, last_seq=200))
    counting = Counting(view)
    pictures, about = Pictures(counting, view, ZONE, kept=2), alert("frost", "closed-cooling", "engine-space")
    first = pictures(TERN, about, NOW)
    assert first is not None
    assert pictures(TERN, about, NOW) is first
    assert counting.asked == 1
    later = pictures(TERN, about, NOW + HOUR)
    worse = pictures(
        TERN, replace(about, finding=replace(about.finding, rests_on=(Seen("engine-space", NOW, -3.0),))), NOW
    )
    assert later is not first
    assert worse is not None
    assert "last \u22123.0 °C at 04:00" in worse.says
    assert counting.asked == 3
    assert pictures(TERN, about, NOW) is not first  # of three only two are kept
    assert counting.asked == 4
    view.close()
    journal.close()


@pytest.mark.parametrize(("tested_to", "named"), [(-20.0, False), (-4.0, True)])
def test_a_limit_that_lies_far_off_is_left_out_and_a_near_one_is_named(
    draw: Draw, tested_to: float, named: bool
) -> None:
    system = TERN.liquid_systems[0].model_copy(update={"tested_freeze_degc": tested_to})
    vessel = TERN.model_copy(update={"liquid_systems": (system,)})
    made = draw(alert("frost", "closed-cooling", "engine-space"), vessel=vessel)
    assert made is not None
    assert ("Protected to" in made.says) == named


@pytest.mark.parametrize(
    ("about", "hours"),
    [
        (alert("silence", "gateway"), 120),
        (alert("maintenance", "visits"), 120),
        (alert("bilge", "no-such", "bilge-float"), 120),
        (alert("frost", "closed-cooling", "engine-space"), 0),
    ],
)
def test_where_there_is_nothing_to_draw_there_is_no_picture(draw: Draw, about: Alert, hours: int) -> None:
    assert draw(about, hours) is None


def test_a_sensor_that_is_no_longer_in_the_record_is_passed_over(draw: Draw) -> None:
    made = draw(alert("frost", "closed-cooling", "taken-away", "engine-space"))
    assert made is not None
    assert made.says.startswith("Temperatures.")
