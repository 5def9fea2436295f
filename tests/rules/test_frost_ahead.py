"""Frost looks ahead: the fitted lag against hand-worked responses, forecast, daily cycle, working time, thaw."""

from collections.abc import Callable
from copy import deepcopy
from datetime import UTC, datetime
from math import cos, exp, pi
from typing import Any

import pytest
from aboard import Aboard, At, json_bytes, round_trips
from boats import HOUR, LAID_UP_MS, MINUTE, sensor
from hypothesis import given, settings
from hypothesis import strategies as st
from test_frost import record, treated, wet

from monitor.model.finding import Finding
from monitor.model.reading import Reading
from monitor.model.scale import Priority, Sure
from monitor.model.surroundings import Forecast, Surroundings, YardCalendar
from monitor.model.vessel import Mode, Vessel
from monitor.rules import frost_look
from monitor.rules.frost import Frost, FrostState
from monitor.rules.frost_ahead import Low, Path, walk
from monitor.rules.frost_grade import grade
from monitor.rules.frost_outside import Foretold, Outside
from monitor.rules.frost_things import freezables
from monitor.science.cooling import lag_of, lag_step_degc, minimum_ahead

OSLO = YardCalendar(zone="Europe/Oslo")
RANK = {None: 0, Priority.CAUTION: 1, Priority.WARNING: 2, Priority.ALARM: 3}


def ms(text: str) -> int:
    return round(datetime.fromisoformat(text).replace(tzinfo=UTC).timestamp() * 1000)


class Yard:
    """One boat's rule, fed by the hour, in a yard with a calendar and perhaps a forecast."""

    def __init__(self, at: Vessel, now_ms: int = LAID_UP_MS, calendar: YardCalendar = OSLO) -> None:
        self.rule, self.state, self.now_ms = Frost(at), FrostState(), now_ms
        self.rule.surroundings = Surroundings(calendar=calendar)

    def say(self, sensor_id: str, degc: float) -> None:
        self.rule.see(self.state, Reading("tern", sensor_id, self.now_ms, self.now_ms, self.now_ms, degc))

    def live(
        self, hours: int, outside: At, inside: At | None = None, tau_h: float = 12.0, start: float = 5.0
    ) -> "Yard":
        """Go on by the hour; where no ``inside`` is given the space lags the outside by ``tau_h``."""
        t, before = start, outside(0.0) or 0.0
        for hour in range(hours):
            air = outside(float(hour)) or 0.0
            t = (
                lag_step_degc(t, before, air, 1.0 if hour else 0.0, tau_h)
                if inside is None
                else inside(float(hour)) or 0
            )
            before = air
            self.say("outside", air)
            self.say("engine-space", t)
            self.now_ms += HOUR
        self.now_ms -= HOUR
        return self

    def forecast(self, degc: Callable[[float], float], hours: int = 97, came_ms: int | None = None) -> "Yard":
        """Have a forecast come, by the hours ahead of now."""
        coming = Forecast.of(
            self.now_ms if came_ms is None else came_ms, ((self.now_ms + h * HOUR, degc(h)) for h in range(hours))
        )
        self.rule.surroundings = self.rule.surroundings.model_copy(update={"forecast": coming})
        return self

    def found(self, after_min: int = 1) -> Finding:
        (finding,) = self.rule.judge(self.state, self.now_ms + after_min * MINUTE)
        return finding


def day(mean: float, half_swing: float) -> At:
    return lambda h: mean - half_swing * cos(2 * pi * h / 24)


# --- The lag


@pytest.mark.parametrize("tau_h", [4.0, 12.0, 40.0])
def test_the_lag_is_fitted_from_the_boats_own_readings(tau_h: float) -> None:
    yard = Yard(record(wet())).live(240, day(4.0, 5.0), tau_h=tau_h)
    lag = lag_of(yard.state.fits["engine-space"])
    assert lag is not None
    # The trapezoid rule over an hour; its error is (dt / tau)^2 / 12, half a per cent for the fastest.
    assert lag.time_constant_h.best == pytest.approx(tau_h, rel=0.02)


def test_a_space_falls_to_where_the_response_of_one_lag_says() -> None:
    # A space of tau = 20 h that has followed a round of 5 +/- 4 degC; from now on -10 degC, reached within the hour:
    # T(1 h) = u1 - r tau + (T0 - u0 + r tau) exp(-1/20), T(24 h) = -10 + (T(1 h) + 10) exp(-23/20).
    yard = Yard(record(wet())).live(240, day(5.0, 4.0), tau_h=20.0)
    t0, u0 = yard.state.temperatures["engine-space"].points[-1][1], day(5.0, 4.0)(239.0)
    assert u0 is not None
    yard.forecast(lambda h: u0 if h == 0 else -10.0)
    r = -10.0 - u0
    after_an_hour = -10.0 - 20 * r + (t0 - u0 + 20 * r) * exp(-1 / 20)
    expected = -10.0 + (after_an_hour + 10.0) * exp(-23 / 20)
    finding = yard.found(0)
    margin = finding.facts["margin_24h_k"]
    assert isinstance(margin, float)
    # Less the 0.5 K of the thermometer. The fit is 1 % out at most: 0.05 K here; figures are rounded to 0.1 K.
    assert margin == pytest.approx(expected - 0.5, abs=0.1)
    assert finding.facts["foretold_by"] == "forecast"
    assert finding.facts["lag_h"] == pytest.approx(20.0, abs=0.4)


def test_without_a_forecast_the_last_days_go_on() -> None:
    # daily_minimum(2, 6, 12 h): 2 - 6 / sqrt(1 + pi^2) = 0.18 degC, the worked value of `science.cooling`.
    yard = Yard(record(wet())).live(24 * 10 + 6, day(2.0, 6.0), tau_h=12.0, start=0.2)
    finding = yard.found(0)
    assert finding.facts["foretold_by"] == "daily cycle"
    margin = finding.facts["margin_96h_k"]
    assert isinstance(margin, float)
    assert margin + 0.5 == pytest.approx(0.18, abs=0.15)


def test_the_walk_is_the_formula_of_the_science_from_point_to_point() -> None:
    air = [-3.0 + 5.0 * cos(h / 3.7) + 2.0 * cos(h / 11.0) for h in range(97)]
    for tau_h, gain_k in ((0.5, 0.0), (3.2, 0.4), (9.0, -0.3), (45.0, 1.2)):
        hours = [float(h) for h in range(97)]
        lowest, at_h = Path(hours, walk(4.0, hours, air, tau_h, gain_k)).low(96.0)
        exact = minimum_ahead(4.0, list(zip(hours, air, strict=True)), tau_h, gain_k)
        assert lowest == pytest.approx(exact.t_degc, abs=0.1)
        assert at_h == pytest.approx(exact.hours, abs=1.0)


def test_water_round_the_hull_holds_the_space_warm() -> None:
    # dT/dt = (u - T) / 10 h + 0.3 K/h: it settles 3 K over the air.
    afloat = record(wet()).model_copy(update={"mode": Mode.AFLOAT_LAID_UP, "berth": "N1", "plot": None})
    air = day(2.0, 3.0)
    yard = Yard(afloat)
    t = 5.0
    for hour in range(300):
        before, after = air(float(hour)), air(hour + 1.0)
        assert before is not None
        assert after is not None
        yard.say("outside", before)
        yard.say("engine-space", t)
        t = lag_step_degc(t, before + 3.0, after + 3.0, 1.0, 10.0)
        yard.now_ms += HOUR
    lag = lag_of(yard.state.fits["engine-space"])
    assert lag is not None
    assert lag.gain_k == pytest.approx(3.0, abs=0.1)


# --- The range


def test_the_range_holds_the_best_and_grows_with_the_lead() -> None:
    finding = Yard(record(wet())).live(200, day(3.0, 3.0)).forecast(lambda h: 3.0 - h / 24).found()
    widths = []
    for hours in (12, 24, 48, 96):
        low, best, high = (finding.facts[f"margin_{hours}h_{part}k"] for part in ("low_", "", "high_"))
        assert isinstance(low, float)
        assert isinstance(best, float)
        assert isinstance(high, float)
        assert low <= best <= high
        widths.append(high - low)
    assert widths == sorted(widths)
    assert widths[0] < widths[-1]


def test_an_old_forecast_is_less_sure_than_a_fresh_one() -> None:
    yard = Yard(record(wet())).live(200, day(3.0, 3.0))
    fresh = yard.forecast(lambda h: 1.0 - h / 48).found().facts["margin_24h_low_k"]
    old = yard.forecast(lambda h: 1.0 - h / 48, came_ms=yard.now_ms - 72 * HOUR).found().facts["margin_24h_low_k"]
    assert isinstance(fresh, float)
    assert isinstance(old, float)
    assert old < fresh


def test_past_the_end_of_a_forecast_the_last_days_go_on() -> None:
    finding = Yard(record(wet())).live(200, day(3.0, 3.0)).forecast(lambda _: 3.0, hours=13).found()
    assert finding.facts["foretold_by"] == "forecast"
    assert finding.facts["margin_96h_k"] is not None


@pytest.mark.parametrize("hours", [[-9, -8, -7], [0, 1, 2], [12, 24, 36]])
def test_a_forecast_that_says_nothing_of_now_is_passed_over(hours: list[int]) -> None:
    yard = Yard(record(wet())).live(200, day(3.0, 3.0))
    coming = Forecast.of(yard.now_ms, ((yard.now_ms + h * HOUR - 3 * HOUR, -9.0) for h in hours))
    yard.rule.surroundings = Surroundings(calendar=OSLO, forecast=coming)
    assert yard.found().facts["foretold_by"] == "daily cycle"


def test_a_gap_of_the_forecast_ends_it() -> None:
    coming = Foretold(Forecast.of(0, ((h * HOUR, 1.0) for h in (0, 3, 9, 16, 17))))
    assert coming.span(HOUR) == (1, 2)
    assert coming.span(10 * HOUR) is None
    assert coming.span(16 * HOUR) == (4, 4)
    assert coming.span(18 * HOUR) is None


def test_with_no_outside_thermometer_the_slope_is_carried_on() -> None:
    yard = Yard(record(wet()))
    for hour in range(4):
        yard.say("engine-space", 6.0 - hour)
        yard.now_ms += HOUR
    yard.now_ms -= HOUR
    finding = yard.found(0)
    # 3 degC now, 1 K an hour for six hours.
    assert (finding.facts["foretold_by"], finding.facts["foretold_degc"]) == ("slope", -3.0)
    assert (finding.facts["foretold_low_degc"], finding.facts["foretold_high_degc"]) == (-4.5, -1.5)


def test_an_outside_thermometer_unheard_for_a_day_has_no_days_to_go_by() -> None:
    yard = Yard(record(wet())).live(100, day(3.0, 3.0))
    for _ in range(26):
        yard.now_ms += HOUR
        yard.say("engine-space", 3.0)
    assert yard.found().facts["foretold_by"] == "slope"


def test_a_day_is_known_once_each_of_its_hours_was_heard_and_small_gaps_are_bridged() -> None:
    outside = Outside()
    for hour in range(0, 28, 3):
        outside.note(hour * HOUR, float(hour % 24))
    cycle = outside.cycle(27 * HOUR)
    assert cycle is not None
    assert cycle[:3] == [0.0, 1.0, 2.0]
    outside.note(60 * HOUR, 1.0)
    assert outside.cycle(60 * HOUR) is None


def test_a_system_without_a_thermometer_of_its_own_follows_the_air_at_once() -> None:
    yard = Yard(record(wet(sensor=None))).live(100, day(8.0, 1.0)).forecast(lambda h: -5.0 if h >= 20 else 6.0)
    finding = yard.found()
    assert finding.facts["margin_24h_k"] == pytest.approx(-5.5, abs=0.2)
    assert finding.sure is Sure.POSSIBLE


# --- Working time. Friday 13 December 2013 in Oslo is UTC + 1 h.


def cold_sunday(now: str) -> Yard:
    """A mild week, and a frost of -8 degC foretold for Sunday from 00:00 UTC on."""
    yard = Yard(record(wet()), ms(now) - 199 * HOUR).live(200, day(8.0, 0.5), start=8.0)
    begins = (ms("2013-12-15T00:00") - yard.now_ms) / HOUR
    return yard.forecast(lambda h: 8.0 if h < begins else -8.0, hours=150)


def test_a_weekends_frost_is_told_on_friday_and_not_on_thursday() -> None:
    thursday, friday = cold_sunday("2013-12-12T13:00").rule, cold_sunday("2013-12-13T09:00")
    assert thursday.judge(cold_sunday("2013-12-12T13:00").state, ms("2013-12-12T13:00")) == []
    finding = friday.found()
    assert finding.priority is Priority.WARNING
    assert finding.facts["visit_by"] == ms("2013-12-13T14:00")
    assert finding.first[0] == "visit_by_notice"
    assert finding.facts["until"] == ms("2013-12-16T16:00")


def test_past_the_notice_time_of_friday_somebody_has_to_be_called_out() -> None:
    finding = cold_sunday("2013-12-13T15:00").found()
    assert (finding.facts["visit_by"], finding.first[0]) == (None, "call_today")


def test_a_frost_that_a_working_day_comes_before_can_wait_for_it() -> None:
    # On Monday 9 December the frost of Tuesday night can be met on Tuesday.
    yard = Yard(record(wet()), ms("2013-12-09T09:00") - 199 * HOUR).live(200, day(8.0, 0.5), start=8.0)
    begins = (ms("2013-12-10T18:00") - yard.now_ms) / HOUR
    yard.forecast(lambda h: 8.0 if h < begins else -8.0)
    assert yard.rule.judge(yard.state, yard.now_ms) == []
    for _ in range(24):
        yard.now_ms += HOUR
        yard.say("outside", 8.0)
        yard.say("engine-space", 8.0)
    finding = yard.found()
    assert finding.priority >= Priority.WARNING
    assert finding.facts["visit_by"] == ms("2013-12-10T14:00")


def test_the_yards_own_time_counts_over_a_change_of_the_clock() -> None:
    # Summer time begins in Oslo on Sunday 30 March 2014: Friday 17:00 is 16:00 UTC, Monday 17:00 is 15:00 UTC.
    yard = Yard(record(wet()), ms("2014-03-28T09:00") - 199 * HOUR).live(200, day(3.0, 1.0), start=3.0)
    finding = yard.forecast(lambda h: 3.0 if h < 30 else -6.0).found()
    assert finding.facts["until"] == ms("2014-03-31T15:00")
    assert finding.facts["visit_by"] == ms("2014-03-28T14:00")


def test_a_holiday_is_no_working_day() -> None:
    calendar = YardCalendar(zone="Europe/Oslo", holidays=(datetime(2013, 12, 16, tzinfo=UTC).date(),))
    yard = Yard(record(wet()), ms("2013-12-13T09:00") - 199 * HOUR, calendar).live(200, day(8.0, 0.5), start=8.0)
    finding = yard.forecast(lambda h: 8.0 if h < 70 else -8.0, hours=150).found()
    assert finding.facts["until"] == ms("2013-12-17T16:00")


def test_the_night_before_anybody_works_again_is_an_alarm_on_the_best_estimate() -> None:
    yard = Yard(record(wet())).live(200, day(6.0, 0.5), start=6.0).forecast(lambda h: 6.0 if h < 2 else -9.0)
    assert yard.found().priority is Priority.ALARM


def test_strong_coolant_is_left_alone_whatever_is_foretold() -> None:
    yard = Yard(record(treated(-33.0))).live(200, day(2.0, 4.0)).forecast(lambda h: -15.0 if h > 6 else 0.0)
    assert yard.rule.judge(yard.state, yard.now_ms) == []


def test_weak_coolant_is_warned_of_before_it_is_cold() -> None:
    yard = Yard(record(treated(-4.0))).live(200, day(6.0, 1.0)).forecast(lambda h: 6.0 if h < 20 else -9.0)
    finding = yard.found()
    assert finding.priority is Priority.WARNING
    assert finding.facts["margin_k"] == pytest.approx(6 + 4 - 1.5, abs=1.5)
    at = finding.facts["foretold_at"]
    assert isinstance(at, int)
    assert at > yard.now_ms
    assert finding.harm is not None
    assert finding.harm.low_s > 0


def test_the_weakest_is_the_one_with_the_least_margin_to_come_and_not_now() -> None:
    # The engine space is colder now, and slow; the cabin is warmer now, and follows the air within hours.
    sensors = [sensor(s, "temperature") for s in ("outside", "engine-space", "cabin")]
    systems = [wet(), wet(id="heads", name="Heads", sensor="cabin")]
    at = Vessel.model_validate(record().model_dump() | {"sensors": sensors, "liquid_systems": systems, "proofs": ()})
    yard = Yard(at)
    air, slow, fast = day(4.0, 4.0), 4.0, 4.0
    for hour in range(300):
        before, after = air(float(hour)), air(hour + 1.0)
        assert before is not None
        assert after is not None
        for place, t in (("outside", before), ("engine-space", slow), ("cabin", fast)):
            yard.say(place, t)
        slow, fast = lag_step_degc(slow, before, after, 1.0, 40.0), lag_step_degc(fast, before, after, 1.0, 3.0)
        yard.now_ms += HOUR
    yard.now_ms -= HOUR
    yard.forecast(lambda _: -6.0)
    found = {f.subject: f for f in yard.rule.judge(yard.state, yard.now_ms)}
    assert found["heads"].facts["t_degc"] > found["pipes"].facts["t_degc"]  # type: ignore[operator] # both are floats
    assert {s: f.facts["weakest"] for s, f in found.items()} == {"pipes": False, "heads": True}


# --- More cold


@given(
    how=st.sampled_from([wet(), wet(state="not proven"), treated(-4.0), treated(-9.0, tester="ball tester")]),
    now=st.floats(-15, 15),
    near=st.tuples(st.floats(0, 8), st.floats(0, 20)),
    colder=st.tuples(st.floats(0, 5), st.floats(0, 5), st.floats(0, 5), st.floats(0, 5)),
    held=st.sampled_from(list(RANK)),
)
def test_more_cold_in_any_figure_never_lowers_the_grade(
    how: dict[str, Any],
    now: float,
    near: tuple[float, float],
    colder: tuple[float, float, float, float],
    held: Priority | None,
) -> None:
    (thing,) = freezables(record(how), 3.0)
    freeze = thing.freeze_degc or 0.0
    best_near = now - near[0]
    best, low = best_near - near[1] / 2, best_near - near[1]
    a, b, c, d = colder
    mild = grade(thing, freeze, now, Low(best_near, best_near, now, 3), Low(low, best, now, 9), held)
    cold = grade(
        thing, freeze, now - a, Low(best_near - b, best_near - b, now, 3), Low(low - c, best - d, now, 9), held
    )
    assert RANK[cold] >= RANK[mild]


@settings(max_examples=40)
@given(
    system=st.sampled_from([wet(), treated(-4.0), treated(-12.0)]),
    mean=st.floats(-8, 10),
    swing=st.floats(0, 6),
    tau_h=st.floats(2, 40),
    colder=st.floats(0.1, 6),
    fall=st.floats(-0.2, 0.05),
    forecast=st.booleans(),
)
def test_a_colder_winter_is_never_graded_lower(
    system: dict[str, Any], mean: float, swing: float, tau_h: float, colder: float, fall: float, forecast: bool
) -> None:
    ranks = []
    for shift in (0.0, colder):
        yard = Yard(record(system)).live(72, day(mean - shift, swing), tau_h=tau_h, start=mean - shift)
        if forecast:
            yard.forecast(lambda h, at=mean - shift: at + fall * h)  # type: ignore[misc] # bound on purpose
        found = yard.rule.judge(yard.state, yard.now_ms)
        ranks.append(max((RANK[f.priority] for f in found), default=0))
    assert ranks[1] >= ranks[0]


@settings(max_examples=40)
@given(
    system=st.sampled_from([wet(), treated(-4.0), treated(-20.0)]),
    mean=st.floats(-12, 25),
    swing=st.floats(0, 8),
    fall=st.floats(-0.3, 0.1),
    forecast=st.booleans(),
)
def test_what_is_passed_over_as_out_of_reach_would_have_been_left_alone(
    system: dict[str, Any], mean: float, swing: float, fall: float, forecast: bool
) -> None:
    yard = Yard(record(system)).live(72, day(mean, swing), start=mean)
    if forecast:
        yard.forecast(lambda h: mean + fall * h)
    quick = [f.priority for f in yard.rule.judge(deepcopy(yard.state), yard.now_ms)]
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(frost_look.Look, "coldest", lambda *_: None)
        whole = [f.priority for f in yard.rule.judge(deepcopy(yard.state), yard.now_ms)]
    assert quick == whole


# --- When to look again


def test_it_looks_each_hour_while_something_is_in_reach_and_at_notice_time() -> None:
    half_hours = YardCalendar(zone="Asia/Kolkata")  # 15:00 there is 09:30 UTC
    yard = Yard(record(wet()), ms("2013-12-12T09:00") - 199 * HOUR, half_hours).live(200, day(3.0, 2.0), start=3.0)
    yard.found(0)
    assert yard.rule.next_look(yard.state, ms("2013-12-12T09:00")) == ms("2013-12-12T09:30")
    # Nothing is near a step of its own at 10:00: a minute later the readings of that hour are in.
    assert yard.rule.next_look(yard.state, ms("2013-12-12T09:30")) == ms("2013-12-12T10:01")


def test_a_boat_far_from_any_frost_is_not_looked_at_each_hour() -> None:
    yard = Yard(record(treated(-33.0))).live(200, day(6.0, 2.0))
    assert yard.rule.judge(yard.state, yard.now_ms) == []
    look = yard.rule.next_look(yard.state, yard.now_ms)
    assert look == yard.now_ms + 3 * HOUR + MINUTE


@pytest.mark.parametrize("forecast", [True, False])
def test_nothing_changes_by_time_alone_before_the_next_look(forecast: bool) -> None:
    yard = Yard(record(wet(), treated(-4.0))).live(200, day(2.0, 3.0))
    if forecast:
        yard.forecast(lambda h: 4.0 - h / 8)
    now = yard.now_ms
    for _ in range(140):
        before = [(f.subject, f.kind, f.priority) for f in yard.rule.judge(yard.state, now)]
        look = yard.rule.next_look(yard.state, now)
        if look is None:
            break
        assert look > now
        for at in range(now, look, 7 * MINUTE):
            assert [(f.subject, f.kind, f.priority) for f in yard.rule.judge(deepcopy(yard.state), at)] == before
        now = look


# --- Thaw


def test_a_thaw_asks_for_a_look_for_three_days() -> None:
    aboard = Aboard(record(wet()), Frost)
    aboard.live(30, {"engine-space": lambda h: -3.0 if 4 < h < 16 else 8.0})
    finding = aboard.findings()["pipes"]
    assert (finding.kind, finding.priority) == ("thaw", Priority.WARNING)
    assert finding.facts["lowest_degc"] == -3.0
    # Ten hours from the first to the last reading of -3 degC, and 3/11 of the two hours from and to +8 degC.
    assert finding.facts["exposed_h"] == pytest.approx(10 + 2 * 3 / 11, abs=0.06)
    assert finding.first[:2] == ("look_for_splits", "watch_bilge")
    aboard.live(16 + 71 - 30, {"engine-space": lambda _: 8.0})
    assert aboard.findings()["pipes"].kind == "thaw"
    aboard.live(3, {"engine-space": lambda _: 8.0})
    assert aboard.findings()["pipes"].over
    aboard.live(24, {"engine-space": lambda _: 8.0})
    assert aboard.findings() == {}


def test_weak_coolant_that_turned_to_slush_is_looked_at_after_the_thaw() -> None:
    aboard = Aboard(record(treated(-4.0)), Frost)
    aboard.live(40, {"engine-space": lambda h: -7.0 if 4 < h < 16 else 3.0})
    assert aboard.findings()["cooling"].kind == "thaw"
    assert "no_start_unseen" in aboard.findings()["cooling"].never


def test_coolant_that_held_has_no_thaw() -> None:
    aboard = Aboard(record(treated(-12.0)), Frost)
    aboard.live(40, {"engine-space": lambda h: -7.0 if 4 < h < 16 else 3.0})
    assert "thaw" not in {f.kind for f in aboard.findings().values()}


def test_a_frost_that_comes_again_goes_before_the_thaw() -> None:
    aboard = Aboard(record(wet()), Frost)
    aboard.live(40, {"engine-space": lambda h: -3.0 if 4 < h < 16 or h > 36 else 8.0})
    finding = aboard.findings()["pipes"]
    assert (finding.kind, finding.priority) == ("wet", Priority.ALARM)


# --- State


def test_state_stays_small_through_a_winter_and_comes_back_from_json() -> None:
    yard = Yard(record(wet(), treated(-4.0))).live(24 * 150, day(1.0, 5.0))
    yard.rule.judge(yard.state, yard.now_ms)
    assert round_trips(yard.state, FrostState)
    assert json_bytes(yard.state, FrostState) < 4_000


def test_a_warning_of_what_was_left_wet_always_asks_for_a_visit() -> None:
    # A low end between 1 and 2.5 K: the warning stands, and says by when to ask.
    for best in (2.0, 2.5, 3.0, 3.5, 4.0):
        yard = Yard(record(wet())).live(200, day(6.0, 0.5), start=6.0).forecast(lambda h, to=best: 6 if h < 12 else to)
        for finding in yard.rule.judge(yard.state, yard.now_ms):
            if finding.priority is Priority.WARNING and not finding.facts["frozen"]:
                assert finding.first[0] in {"visit_by_notice", "call_today"}
