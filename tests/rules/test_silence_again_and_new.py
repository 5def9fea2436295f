"""Silence: what is heard again says so while its alert still stands; nobody is rung for a new boat in her first day."""

from zoneinfo import ZoneInfo

import pytest
from aboard import Aboard, round_trips
from boats import DAY, HOUR, LAID_UP_MS, MINUTE, boat
from test_silence import WET, afloat, in_air, sound, wait, wet, without

from monitor.messages.words import put_into_words, sentence
from monitor.model.alert import AlertChange
from monitor.model.inputs import ForecastVersion
from monitor.model.reading import Reading
from monitor.model.scale import Flag, Priority
from monitor.model.surroundings import Forecast
from monitor.model.vessel import Vessel
from monitor.rules.silence import Silence
from monitor.rules.silence_memory import SilenceState

ZONE = ZoneInfo("America/New_York")
OVER = {AlertChange.RETURNED, AlertChange.ENDED}


def over_h(aboard: Aboard) -> list[float]:
    return [(e.at_ms - LAID_UP_MS) / HOUR for e in aboard.events if e.change in OVER]


def what(aboard: Aboard, subject: str) -> str:
    (alert,) = (a for a in aboard.watch.open_alerts() if a.subject == subject)
    return put_into_words(alert.finding, aboard.record, ZONE, aboard.now_ms, strict=True).what


# -- heard again ------------------------------------------------------------------------------------------------------


def test_a_boat_heard_again_is_told_as_heard_again_until_her_alert_ends_at_the_time_it_names() -> None:
    aboard = Aboard(boat(), Silence).live(24, sound())
    wait(aboard, 24)
    aboard.live(0.5, sound(), 1 / 6)
    (alert,) = aboard.watch.open_alerts()
    facts = alert.finding.facts
    heard_ms, ends_ms = facts["heard_again_ms"], facts["ends_at"]
    assert isinstance(heard_ms, int)
    assert isinstance(ends_ms, int)
    assert alert.returned_ms is None
    assert heard_ms == pytest.approx(LAID_UP_MS + (48 + 1 / 6) * HOUR, abs=MINUTE)
    assert facts["last_heard_ms"] == LAID_UP_MS + 24 * HOUR
    told = what(aboard, "gateway")
    assert told.startswith("She is heard again since ")
    assert "after a silence of 24 hours" in told
    assert "If that goes on, this alert clears at " in told
    assert "not watched" not in told
    assert "heard again" in sentence(alert, aboard.record, ZONE, aboard.now_ms, strict=True)
    assert alert.finding.never == ()
    aboard.live(3, sound(), 1 / 6)
    assert over_h(aboard) == [pytest.approx((ends_ms - LAID_UP_MS) / HOUR)]
    assert ends_ms == heard_ms + HOUR


def test_an_alarm_of_silence_does_not_rise_or_ring_again_while_she_is_heard() -> None:
    aboard = Aboard(afloat(), Silence).live(24, sound())
    wait(aboard, 23.5)
    aboard.live(4, sound(), 1 / 6)
    assert aboard.opened_h(Priority.ALARM) == []
    assert len(over_h(aboard)) == 1


def test_a_boat_that_falls_silent_again_within_the_hour_is_one_alert_and_told_as_silent() -> None:
    quick = tuple(s.model_copy(update={"interval_s": 600.0}) for s in afloat().sensors)
    aboard = Aboard(afloat().model_copy(update={"sensors": quick}), Silence).live(24, sound(), 1 / 6)
    wait(aboard, 10)
    aboard.live(1 / 6, sound(), 1 / 6)
    wait(aboard, 5)
    assert over_h(aboard) == []
    assert what(aboard, "gateway").startswith("The last word from any of her")


def test_one_sensor_heard_again_says_so_and_clears_after_an_hour() -> None:
    aboard = Aboard(boat(), Silence).live(24, sound()).live(24, without("bilge-level", sound()))
    assert "not watched" in what(aboard, "bilge-level")
    aboard.live(0.5, sound(), 1 / 6)
    assert what(aboard, "bilge-level").startswith("It is heard again since ")
    aboard.live(2, sound(), 1 / 6)
    assert over_h(aboard) == [pytest.approx(49 + 1 / 6, abs=0.02)]


def test_a_sensor_heard_again_is_over_in_its_finding_for_an_hour() -> None:
    rule, state = Silence(boat()), SilenceState()
    rule.judge(state, LAID_UP_MS)
    for hour in range(60):
        at = LAID_UP_MS + hour * HOUR
        for name, value in sound().items():
            if name != "bilge-level" or not 20 <= hour < 50:
                rule.see(state, Reading("tern", name, at, at, at, value(hour) or 0.0, flag=Flag.PASS))
        found = [f.over for f in rule.judge(state, at) if f.subject == "bilge-level"]
        assert found == ([False] if 25 <= hour < 50 else [True] if hour == 50 else []), hour


def test_next_look_names_the_end_of_what_is_heard_again() -> None:
    rule, state = Silence(boat()), SilenceState()
    rule.judge(state, LAID_UP_MS)
    for at in (LAID_UP_MS, LAID_UP_MS + 2 * DAY):
        assert rule.judge(state, at) == [] or at > LAID_UP_MS
        for name, value in sound().items():
            rule.see(state, Reading("tern", name, at, at, at, value(0) or 0.0, flag=Flag.PASS))
    (found,) = (f for f in rule.judge(state, at) if f.subject == "gateway")
    assert found.over
    assert rule.next_look(state, at) == at + HOUR
    assert [f for f in rule.judge(state, at + HOUR) if f.subject == "gateway"] == []
    assert round_trips(state, SilenceState)


# -- new in the record ------------------------------------------------------------------------------------------------


def marks(aboard: Aboard, subject: str, hours: tuple[float, ...]) -> str:
    return aboard.timeline(subject, hours)


def test_ashore_a_boat_never_heard_is_a_caution_in_her_first_day_and_then_a_warning() -> None:
    aboard = Aboard(boat(), Silence)
    wait(aboard, 24 * 4)
    assert marks(aboard, "gateway", (11, 13, 23.9, 24.1, 90)) == ".ccww"


def test_afloat_a_boat_never_heard_is_a_warning_after_its_usual_time_and_an_alarm_only_a_day_after_her_first() -> None:
    aboard = Aboard(afloat(), Silence)
    wait(aboard, 24 * 4)
    assert marks(aboard, "gateway", (2.9, 3.1, 24.1, 47.9, 48.1)) == ".wwwA"


def cold() -> ForecastVersion:
    hours = [(LAID_UP_MS + n * HOUR, -4.0) for n in range(72)]
    return ForecastVersion(Forecast.of(LAID_UP_MS, hours), LAID_UP_MS)


def test_a_new_boat_with_frost_foretold_that_can_harm_her_is_warned_of_and_another_is_not() -> None:
    foretold, nothing = Aboard(wet(), Silence), Aboard(wet(), Silence)
    foretold.watch.fold(cold())
    for aboard in (foretold, nothing):
        wait(aboard, 23)
    assert foretold.opened_h()
    assert nothing.opened_h() == []
    assert nothing.opened_h(Priority.CAUTION)


@pytest.mark.parametrize(("record", "marked"), [(boat(), "c"), (afloat(), "w")], ids=["ashore", "afloat"])
def test_a_bilge_sensor_never_heard_is_a_caution_for_a_day_ashore_and_a_warning_afloat(
    record: Vessel, marked: str
) -> None:
    aboard = Aboard(record, Silence).live(30, without("bilge-level", sound()))
    assert marks(aboard, "bilge-level", (5.5, 8, 23.5, 26)) == f".{marked}{marked}w"


def test_a_sensor_of_a_wet_system_never_heard_is_a_warning_at_once_where_it_freezes() -> None:
    record = wet(liquid_systems=[WET | {"sensor": "engine-space"}])
    mild = Aboard(record, Silence).live(20, without("engine-space", in_air(lambda _: 9.0)))
    frosty = Aboard(record, Silence).live(20, without("engine-space", in_air(lambda _: -3.0)))
    assert [f.priority for f in mild.findings().values() if f.subject == "engine-space"] == [Priority.CAUTION]
    assert [f.priority for f in frosty.findings().values() if f.subject == "engine-space"] == [Priority.WARNING]


@pytest.mark.parametrize("hours", [12, 100])
@pytest.mark.parametrize("record", [boat(), afloat()], ids=["ashore", "afloat"])
def test_a_new_boats_backlog_that_comes_in_sensor_by_sensor_opens_nothing(record: Vessel, hours: int) -> None:
    aboard = Aboard(record, Silence)
    wait(aboard, 1)
    for name, value in sound().items():
        for hour in range(1, hours):
            at = LAID_UP_MS + hour * HOUR
            arrived = LAID_UP_MS + hours * HOUR
            reading = Reading("tern", name, at, at, arrived, value(hour) or 0.0)
            aboard.events += aboard.watch.fold(reading).events
    aboard.hour = hours
    aboard.live(30, sound())
    assert aboard.events == []


def test_a_sensor_that_stays_silent_after_a_new_boats_backlog_is_told_all_the_same() -> None:
    aboard = Aboard(boat(), Silence)
    wait(aboard, 1)
    for name, value in without("bilge-level", sound()).items():
        for hour in range(1, 50):
            at = LAID_UP_MS + hour * HOUR
            reading = Reading("tern", name, at, at, LAID_UP_MS + 50 * HOUR, value(hour) or 0.0)
            aboard.events += aboard.watch.fold(reading).events
    aboard.hour = 50
    aboard.live(30, without("bilge-level", sound()))
    assert aboard.opened_h(Priority.CAUTION) == [pytest.approx(56, abs=0.02), pytest.approx(74, abs=0.02)]
    assert aboard.opened_h() == [pytest.approx(74, abs=0.02)]


@pytest.mark.parametrize("packs", [1, 24])
@pytest.mark.parametrize("record", [boat(), afloat()], ids=["ashore", "afloat"])
def test_a_first_backlog_of_a_day_sent_at_once_or_by_the_hour_is_no_silence(record: Vessel, packs: int) -> None:
    aboard, values = Aboard(record, Silence), sound()
    wait(aboard, 0)
    for hour in range(-24, 1):
        came = LAID_UP_MS + MINUTE * (1 + (hour + 24) * packs // 24)
        for name, value in values.items():
            at = LAID_UP_MS + hour * HOUR
            aboard.events += aboard.watch.fold(Reading("tern", name, at, at, came, value(hour) or 0.0)).events
    wait(aboard, 1)
    assert aboard.events == []
