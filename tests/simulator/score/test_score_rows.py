"""Each row of the score over hand-made truth: what is caught, missed, told too late, or no longer told."""

import pytest
from boats import boat
from hand_made import ALARM, HOUR, MINUTE, afloat, at, case, cause, dried, harm, mark, stood, told, wet

from monitor.model.surroundings import YardCalendar
from simulator.score.asked import episodes_of
from simulator.score.asked_cold import last_notice_ms
from simulator.score.judge import NEVER_S
from simulator.score.rows import (
    BATTERY_FROZEN,
    CAUSE_UNSEEN,
    DEHUMIDIFIER,
    DRIP,
    FAST_FLOAT,
    FAST_HARM,
    FREEZE_ALONE,
    FREEZE_DRAINED,
    FREEZE_FORECAST,
    HALF_FAST,
    HALF_SLOW,
    HARM_UNSEEN,
    MOULD,
    NO_PUMP,
    POWER_INFERRED,
    POWER_SEEN,
    SILENT_AFLOAT,
    SILENT_ASHORE,
    SILENT_FROST,
    SLOW_HARM,
    SLOW_RISE,
    SMALL_DRIP,
)
from simulator.truth import Explains, HarmKind

FREEZES = HarmKind.FREEZES


class TestFreezing:
    FROZE = at(20, 2)
    GIVEN = case(wet(), harm(FREEZES, "fresh-water", FROZE, FROZE + HOUR))

    def test_a_warning_that_stands_at_the_harm_catches_it(self) -> None:
        found = told(self.GIVEN, stood("frost/fresh-water", self.FROZE - 7 * HOUR))[FREEZE_ALONE.name]
        assert (found.caught, found.seconds, found.within) == (True, 7 * 3600, True)

    def test_a_warning_of_five_hours_catches_it_but_not_within_the_target(self) -> None:
        found = told(self.GIVEN, stood("frost/fresh-water", self.FROZE - 5 * HOUR))[FREEZE_ALONE.name]
        assert (found.caught, found.within) == (True, False)

    def test_a_warning_at_the_same_moment_is_too_late(self) -> None:
        found = told(self.GIVEN, stood("frost/fresh-water", self.FROZE))[FREEZE_ALONE.name]
        assert (found.caught, found.seconds, found.within) == (False, 0, False)

    def test_a_warning_that_returned_before_the_harm_does_not_count(self) -> None:
        before = stood("frost/fresh-water", self.FROZE - 9 * HOUR, self.FROZE - HOUR)
        assert not told(self.GIVEN, before)[FREEZE_ALONE.name].caught

    def test_another_systems_warning_does_not_count(self) -> None:
        assert not told(self.GIVEN, stood("frost/closed-cooling", at(1)))[FREEZE_ALONE.name].caught

    def test_nothing_told_is_missed(self) -> None:
        found = told(self.GIVEN)[FREEZE_ALONE.name]
        assert (found.caught, found.opened_ms) == (False, None)

    def test_a_freeze_that_begins_again_within_six_hours_is_the_same_episode(self) -> None:
        first = harm(FREEZES, "fresh-water", at(20), at(20, 5))
        again = harm(FREEZES, "fresh-water", at(20, 10), at(20, 12))
        later = harm(FREEZES, "fresh-water", at(21), at(21, 6))
        assert [e.due_ms for e in episodes_of(case(wet(), first, again, later))] == [at(20), at(21)]

    def test_a_freeze_in_the_first_six_hours_is_not_asked(self) -> None:
        assert episodes_of(case(wet(), harm(FREEZES, "fresh-water", at(0, 5)))) == []

    def test_a_system_recorded_drained_and_probed_has_a_row_of_its_own(self) -> None:
        drained = {"id": "heads", "name": "Heads", "kind": "heads", "state": "drained"}
        record = boat(liquid_systems=[{**drained, "drains": [{"name": "bowl", "probed": True}]}])
        assert set(told(case(record, harm(FREEZES, "heads", at(9))))) == {FREEZE_DRAINED.name}
        record = boat(liquid_systems=[{**drained, "drains": [{"name": "bowl", "probed": False}]}])
        assert set(told(case(record, harm(FREEZES, "heads", at(9))))) == {FREEZE_ALONE.name}

    def test_with_a_forecast_it_is_due_by_notice_time_of_the_working_day_before(self) -> None:
        # Monday of week 3, 02:00: Friday's 15:00 is the last notice time, and two days of weekend lie between.
        froze = at(21, 2)
        given = case(wet(), harm(FREEZES, "fresh-water", froze), has_forecast=True)
        in_time = told(given, stood("frost/fresh-water", at(18, 15)))[FREEZE_FORECAST.name]
        too_late = told(given, stood("frost/fresh-water", at(18, 15) + MINUTE))[FREEZE_FORECAST.name]
        assert (in_time.caught, in_time.within) == (True, True)
        assert (too_late.caught, too_late.within) == (True, False)

    def test_told_by_notice_time_but_no_longer_when_it_froze_is_missed(self) -> None:
        given = case(wet(), harm(FREEZES, "fresh-water", at(21, 2)), has_forecast=True)
        found = told(given, stood("frost/fresh-water", at(18, 14), at(20)))[FREEZE_FORECAST.name]
        assert (found.caught, found.within) == (False, False)

    def test_a_harm_whose_thermometer_was_at_fault_is_asked_apart_and_the_silence_counts(self) -> None:
        stuck = cause("sensor sticks", "engine-space", at(10), None, (Explains("silence", "engine-space"),))
        given = case(wet(), stuck, harm(FREEZES, "fresh-water", at(20)))
        assert told(given, stood("silence/engine-space", at(11)))[HARM_UNSEEN.name].caught
        assert not told(given)[HARM_UNSEEN.name].caught

    def test_a_fault_that_was_over_before_or_gone_in_a_moment_excuses_nothing(self) -> None:
        explains = (Explains("silence", "gateway"),)
        over = cause("gateway silent", "gateway", at(10), at(12), explains)
        moment = cause("gateway reboots", "gateway", at(19, 20), at(19, 20) + 5 * MINUTE, explains)
        frozen = harm(FREEZES, "fresh-water", at(20))
        assert FREEZE_ALONE.name in told(case(wet(), over, frozen))
        assert set(told(case(wet(), moment, frozen))) == {FREEZE_ALONE.name}

    def test_a_battery_that_freezes_is_told_by_either_rule(self) -> None:
        given = case(boat(), harm(HarmKind.BATTERY_FROZEN, "house", at(60)))
        assert told(given, stood("frost/house", at(59)))[BATTERY_FROZEN.name].caught
        assert told(given, stood("battery/house", at(59)))[BATTERY_FROZEN.name].caught
        assert not told(given)[BATTERY_FROZEN.name].caught


@pytest.mark.parametrize(
    ("froze", "notice"),
    [
        (at(15, 16), at(14, 15)),  # Tuesday afternoon, everybody still there: Monday's
        (at(15, 22), at(15, 15)),  # Tuesday night: Tuesday's
        (at(16, 3), at(15, 15)),  # Wednesday before dawn: Tuesday's
        (at(20, 12), at(18, 15)),  # Sunday: Friday's
    ],
)
def test_the_notice_time_is_that_of_the_last_working_day_that_was_over(froze: int, notice: int) -> None:
    assert last_notice_ms(YardCalendar(), froze) == notice


class TestWater:
    BEGAN = at(30)
    FLOAT = BEGAN + 10 * MINUTE
    HARM = BEGAN + 2 * HOUR
    FAST = case(
        afloat(),
        cause("hose off", "bilge", BEGAN, BEGAN + 6 * HOUR, litres_min=9.0),
        mark("float up", "bilge", FLOAT),
        harm(HarmKind.STARTER, "bilge", HARM),
        harm(HarmKind.SOLE, "bilge", HARM + HOUR),
    )

    def test_an_alarm_within_the_minute_is_in_time_for_both_rows(self) -> None:
        found = told(self.FAST, stood("bilge/bilge", self.FLOAT + 30_000, priority=ALARM))
        assert found[FAST_HARM.name].caught
        assert found[FAST_HARM.name].seconds == 110 * 60 - 30  # to the first of the harms
        assert (found[FAST_FLOAT.name].seconds, found[FAST_FLOAT.name].within) == (30, True)

    def test_a_warning_catches_the_harm_but_is_no_alarm(self) -> None:
        found = told(self.FAST, stood("bilge/bilge", self.FLOAT + 30_000))
        assert found[FAST_HARM.name].caught
        assert (found[FAST_FLOAT.name].caught, found[FAST_FLOAT.name].seconds) == (False, NEVER_S)

    def test_two_minutes_are_too_late(self) -> None:
        found = told(self.FAST, stood("bilge/bilge", self.FLOAT + 2 * MINUTE, priority=ALARM))[FAST_FLOAT.name]
        assert (found.caught, found.within) == (True, False)

    def test_ashore_no_inflow_is_fast(self) -> None:
        ashore = boat()
        assert episodes_of(case(ashore, cause("hose off", "bilge", at(3), litres_min=9.0))) == []

    def test_a_slow_inflow_is_told_from_twenty_millimetres_on(self) -> None:
        given = case(
            afloat(),
            cause("weeping hose", "bilge", at(30), at(40), litres_h=0.6),
            mark("20 mm risen", "bilge", at(30, 5)),
            harm(HarmKind.TERMINALS, "bilge", at(33)),
        )
        early = told(given, stood("bilge/bilge", at(30, 6)))
        assert (early[SLOW_RISE.name].seconds, early[SLOW_RISE.name].within) == (3600, True)
        assert early[SLOW_HARM.name].caught
        late = told(given, stood("bilge/bilge", at(30, 8)))
        assert (late[SLOW_RISE.name].caught, late[SLOW_RISE.name].within) == (True, False)
        assert not told(given, stood("bilge/bilge", at(33, 1)))[SLOW_HARM.name].caught

    def test_what_a_silent_gateway_kept_from_being_told_is_asked_apart(self) -> None:
        silent = cause("gateway silent", "gateway", at(29), at(32), (Explains("silence", "gateway"),))
        weeping = cause("weeping hose", "bilge", at(30), at(40), litres_h=0.6)
        given = case(afloat(), silent, weeping, mark("20 mm risen", "bilge", at(30, 5)))
        found = told(given, stood("silence/gateway", at(29, 1)))
        assert set(found) == {CAUSE_UNSEEN.name, SILENT_AFLOAT.name}
        assert found[CAUSE_UNSEEN.name].caught
        assert found[SILENT_AFLOAT.name].within

    def test_less_than_half_a_litre_an_hour_is_no_inflow_row(self) -> None:
        assert episodes_of(case(afloat(), cause("weeping hose", "bilge", at(3), litres_h=0.4))) == []

    def test_a_rise_that_was_bailed_sooner_than_the_target_is_not_asked(self) -> None:
        weeping = cause("weeping hose", "bilge", at(30), at(30, 6), litres_h=0.6)
        assert episodes_of(case(afloat(), weeping, mark("20 mm risen", "bilge", at(30, 5)))) == []

    def test_a_drip_counts_by_its_drops_and_not_by_its_litres(self) -> None:
        drip = cause("gland drip", "bilge", at(10), drops_per_min=20.0, litres_h=0.06)
        found = told(case(afloat(), drip), stood("bilge/bilge", at(13)))
        assert set(found) == {DRIP.name}
        assert (found[DRIP.name].seconds, found[DRIP.name].within) == (3 * 86_400, True)
        small = cause("gland drip", "bilge", at(10), drops_per_min=3.0)
        assert set(told(case(afloat(), small))) == {SMALL_DRIP.name}

    def test_a_seacock_says_which_bilge_it_fills(self) -> None:
        passing = cause("seacock passing", "heads-intake", at(10), at(12), litres_min=6.0, bilge="bilge")
        given = case(afloat(), passing, mark("float up", "bilge-float", at(10, 1)))
        assert told(given, stood("bilge/bilge", at(10, 1), priority=ALARM))[FAST_FLOAT.name].within

    def test_an_inflow_that_does_not_say_which_of_two_bilges_it_fills_is_an_error(self) -> None:
        record = afloat()
        bilges = [*(b.model_dump() for b in record.bilges), {"id": "aft", "name": "Aft bilge"}]
        with pytest.raises(ValueError, match="does not say which bilge it fills"):
            episodes_of(case(afloat(bilges=bilges), cause("rain", "deck", at(3), litres_h=1.0)))


class TestPowerAndBatteries:
    def test_half_is_told_a_week_before_or_too_late(self) -> None:
        given = case(boat(), harm(HarmKind.HALF, "house", at(80)))
        assert told(given, stood("battery/house", at(73)))[HALF_SLOW.name].within
        late = told(given, stood("battery/house", at(74)))[HALF_SLOW.name]
        assert (late.caught, late.within) == (True, False)
        assert not told(given, stood("battery/house", at(81)))[HALF_SLOW.name].caught

    def test_a_hidden_load_of_half_a_percent_a_day_is_a_fast_draw(self) -> None:
        half = harm(HarmKind.HALF, "house", at(80))
        load = cause("hidden load", "house", at(40), draw_pct_day=0.5)
        assert set(told(case(boat(), load, half))) == {HALF_FAST.name}
        less = cause("hidden load", "house", at(40), draw_pct_day=0.3)
        assert set(told(case(boat(), less, half))) == {HALF_SLOW.name}
        found_before = cause("hidden load", "house", at(40), at(50), draw_pct_day=2.0)
        assert set(told(case(boat(), found_before, half))) == {HALF_SLOW.name}

    def test_lost_shore_power_tells_of_the_battery_it_leaves_without_charge(self) -> None:
        given = case(dried(), harm(HarmKind.HALF, "house", at(80)))
        assert told(given, stood("power/shore-power", at(60)))[HALF_SLOW.name].caught
        alone = case(boat(), harm(HarmKind.HALF, "house", at(80)))
        assert not told(alone, stood("power/shore-power", at(60)))[HALF_SLOW.name].caught

    def test_a_battery_that_cannot_run_the_pump_has_its_row(self) -> None:
        given = case(afloat(), harm(HarmKind.NO_PUMP, "house", at(80)))
        assert told(given, stood("battery/house", at(79)))[NO_PUMP.name].caught
        assert not told(given)[NO_PUMP.name].caught

    def test_a_mains_sensor_has_two_minutes(self) -> None:
        given = case(dried(), cause("shore power lost", "mains", at(20), at(21), (Explains("power"),)))
        assert told(given, stood("power/shore-power", at(20) + 2 * MINUTE))[POWER_SEEN.name].within
        assert not told(given, stood("power/shore-power", at(20) + 3 * MINUTE))[POWER_SEEN.name].within
        assert not told(given, stood("power/shore-power", at(21, 1)))[POWER_SEEN.name].caught

    def test_without_one_it_is_inferred_within_six_hours_or_told_by_the_charger(self) -> None:
        record = dried(shore_power={"on": True})
        given = case(record, cause("shore power lost", "shore-power", at(20), at(22)))
        assert told(given, stood("power/shore-power", at(20, 6)))[POWER_INFERRED.name].within
        assert told(given, stood("battery/house", at(20, 4)))[POWER_INFERRED.name].within
        assert not told(given, stood("power/shore-power", at(20, 7)))[POWER_INFERRED.name].within

    def test_a_tripped_charger_that_power_may_be_blamed_for_is_no_loss_of_power(self) -> None:
        tripped = cause("charger trips", "house", at(20), None, (Explains("battery", "house"), Explains("power")))
        assert episodes_of(case(dried(), tripped)) == []

    def test_another_kind_of_cause_says_that_power_is_lost(self) -> None:
        rcd = cause("residual-current breaker trips", "mains", at(20), at(22), (Explains("power"),))
        assert set(told(case(dried(), rcd))) == {POWER_SEEN.name}


class TestAirAndHearing:
    def test_a_stopped_dehumidifier_is_told_from_when_it_was_needed(self) -> None:
        stopped = cause("dehumidifier stops", "saloon", at(20), at(40), (Explains("damp"),))
        given = case(dried(), stopped, mark("humid", "saloon", at(25)))
        found = told(given, stood("damp/dehumidifier", at(27)))[DEHUMIDIFIER.name]
        assert (found.seconds, found.within) == (2 * 86_400, True)
        assert not told(given, stood("damp/dehumidifier", at(28)))[DEHUMIDIFIER.name].within
        assert told(given, stood("power/shore-power", at(20, 1)))[DEHUMIDIFIER.name].seconds == 0
        assert not told(given, stood("damp/dehumidifier", at(41)))[DEHUMIDIFIER.name].caught

    def test_one_that_was_never_needed_is_not_asked(self) -> None:
        assert episodes_of(case(dried(), cause("dehumidifier stops", "saloon", at(20)))) == []

    def test_a_silent_gateway_has_an_hour_afloat_and_half_a_day_ashore(self) -> None:
        silent = cause("gateway silent", "gateway", at(20), at(22), (Explains("silence", "gateway"),))
        six_hours = stood("silence/gateway", at(20, 6))
        assert not told(case(afloat(), silent), six_hours)[SILENT_AFLOAT.name].within
        assert told(case(boat(), silent), six_hours)[SILENT_ASHORE.name].within
        assert not told(case(boat(), silent))[SILENT_ASHORE.name].caught

    def test_ashore_she_has_less_where_something_freezes_in_the_first_day(self) -> None:
        silent = cause("gateway silent", "gateway", at(20), at(22), (Explains("silence", "gateway"),))
        soon, later = harm(FREEZES, "fresh-water", at(20, 20)), harm(FREEZES, "fresh-water", at(21, 20))
        eight_hours = stood("silence/gateway", at(20, 8))
        found = told(case(wet(), silent, soon), eight_hours)[SILENT_FROST.name]
        assert (found.caught, found.within) == (True, False)
        assert told(case(wet(), silent, soon), stood("silence/gateway", at(20, 6)))[SILENT_FROST.name].within
        assert SILENT_ASHORE.name in told(case(wet(), silent, later), eight_hours)

    def test_a_link_lost_while_the_gateway_is_silent_already_is_no_silence_more(self) -> None:
        silent = cause("gateway silent", "gateway", at(20), at(22), (Explains("silence", "gateway"),))
        lost = cause("link lost", "gateway", at(21), at(23), (Explains("silence", "gateway"),))
        assert [e.begins_ms for e in episodes_of(case(boat(), lost, silent))] == [at(20)]

    def test_a_silent_sensor_is_no_silent_gateway(self) -> None:
        stuck = cause("sensor sticks", "outside", at(20), None, (Explains("silence", "outside"),))
        assert episodes_of(case(boat(), stuck)) == []

    def test_mould_is_reported(self) -> None:
        given = case(dried(), harm(HarmKind.MOULD, "saloon", at(90)))
        found = told(given, stood("damp/saloon", at(85)))[MOULD.name]
        assert (found.caught, found.seconds, found.within) == (True, 5 * 86_400, None)
        assert not told(given)[MOULD.name].caught


def test_two_alerts_that_hand_over_are_one_telling() -> None:
    given = case(dried(), harm(HarmKind.HALF, "house", at(80)))
    found = told(given, stood("battery/house", at(60), at(70)), stood("power/shore-power", at(69)))
    assert found[HALF_SLOW.name].seconds == 20 * 86_400


def test_what_befalls_another_vessel_is_not_asked_of_her() -> None:
    other = harm(FREEZES, "fresh-water", at(20))
    other.vessel = "heron"
    assert episodes_of(case(wet(), other)) == []
