"""Which alerts cry wolf: no cause and no harm stood behind them when they opened."""

from hand_made import ALARM, HOUR, afloat, at, case, cause, dried, false, harm, stood, wet

from monitor.model.scale import Priority
from simulator.score.episodes import Stretch
from simulator.score.judge import side_of
from simulator.truth import Explains, HarmKind

DRIP = cause("gland drip", "bilge", at(10), at(20), (Explains("bilge", "bilge"),), drops_per_min=20.0)


def test_an_alert_with_nothing_behind_it_is_false_at_its_highest_priority() -> None:
    assert false(case(afloat()), stood("bilge/bilge", at(3), at(4))) == [("warning", "bilge/bilge")]
    assert false(case(afloat()), stood("bilge/bilge", at(3), at(4), ALARM)) == [("alarm", "bilge/bilge")]


def test_a_cause_explains_its_rule_on_its_subject_and_nothing_else() -> None:
    assert false(case(afloat(), DRIP), stood("bilge/bilge", at(12), priority=ALARM)) == []
    assert false(case(afloat(), DRIP), stood("battery/house", at(12))) == [("warning", "battery/house")]


def test_an_alert_that_opened_before_its_cause_began_was_not_right() -> None:
    assert false(case(afloat(), DRIP), stood("bilge/bilge", at(9))) == [("warning", "bilge/bilge")]


def test_traces_are_told_of_for_a_week_after_the_end() -> None:
    assert false(case(afloat(), DRIP), stood("bilge/bilge", at(26))) == []
    assert false(case(afloat(), DRIP), stood("bilge/bilge", at(28))) == [("warning", "bilge/bilge")]


def test_an_explanation_up_to_a_warning_makes_no_alarm_right() -> None:
    washed = cause("wash-down", "bilge", at(10), at(11), (Explains("bilge", "bilge", Priority.WARNING),))
    assert false(case(afloat(), washed), stood("bilge/bilge", at(10, 1), at(11))) == []
    assert false(case(afloat(), washed), stood("bilge/bilge", at(10, 1), at(11), ALARM)) == [("alarm", "bilge/bilge")]


def test_an_explanation_without_a_subject_holds_for_all_of_the_rule() -> None:
    given = case(dried(), cause("hatch open", "saloon", at(10), at(12), (Explains("damp"),)))
    assert false(given, stood("damp/dehumidifier", at(11)), stood("damp/saloon", at(11))) == []


def test_a_harm_that_follows_makes_its_alert_right_within_its_horizon() -> None:
    given = case(wet(), harm(HarmKind.FREEZES, "fresh-water", at(20), at(21)))
    assert false(given, stood("frost/fresh-water", at(16), at(17))) == []
    assert false(given, stood("frost/fresh-water", at(14), at(14, 5))) == [("warning", "frost/fresh-water")]
    assert false(given, stood("frost/closed-cooling", at(19))) == [("warning", "frost/closed-cooling")]


def test_a_harm_is_told_of_while_it_lasts_and_for_three_days_after() -> None:
    given = case(wet(), harm(HarmKind.FREEZES, "fresh-water", at(20), at(40)))
    assert false(given, stood("frost/fresh-water", at(42), at(43))) == []
    assert false(given, stood("frost/fresh-water", at(44), at(45))) == [("warning", "frost/fresh-water")]


def test_an_alert_that_comes_back_within_a_day_of_its_opening_is_counted_once() -> None:
    again = [stood("damp/saloon", at(day, hour), at(day, hour + 1)) for day, hour in ((3, 0), (3, 9), (3, 20))]
    side = side_of(case(dried()), [s for some in again for s in some])
    assert (len(side.false), side.opened) == (1, 1)
    later = stood("damp/saloon", at(4, 1), at(5))
    side = side_of(case(dried()), [s for some in [*again, later] for s in some])
    assert (len(side.false), side.opened) == (2, 2)


def test_one_message_on_several_subjects_is_counted_once_and_right_where_one_of_them_is() -> None:
    def cold(subject: str, from_ms: int) -> Stretch:
        return Stretch("frost", subject, Priority.WARNING, from_ms, from_ms + HOUR, "engine-space under")

    both = [cold("closed-cooling", at(20)), cold("fresh-water", at(20))]
    assert len(side_of(case(wet()), both).false) == 1
    froze = case(wet(), harm(HarmKind.FREEZES, "fresh-water", at(20, 3)))
    assert side_of(froze, both).false == ()


def test_what_befell_another_vessel_explains_nothing() -> None:
    given = case(afloat(), DRIP)
    given.log.causes[0] = cause("gland drip", "bilge", at(10), explains=DRIP.explains)
    assert false(given, stood("bilge/bilge", at(12))) == []
    other = case(afloat(id="heron"), DRIP)
    assert false(other, stood("bilge/bilge", at(12))) == [("warning", "bilge/bilge")]
