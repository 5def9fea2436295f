"""What a float switch or high water says beside itself: how high it stands, how fast it rises, what it reaches when."""

from zoneinfo import ZoneInfo

import pytest
from aboard import Aboard
from boats import HOUR, LAID_UP_MS, MINUTE
from test_bilge import DIP, afloat, noisy, say, wait, with_bilge

from monitor.messages.words import Words, put_into_words
from monitor.model.finding import Finding
from monitor.model.scale import Priority
from monitor.rules.bilge import Bilge

ZONE = ZoneInfo("America/New_York")
QUICK_H = 1 / 6


def read(aboard: Aboard) -> tuple[Finding, Words]:
    found = aboard.findings()["bilge"]
    return found, put_into_words(found, aboard.record, ZONE, aboard.now_ms, strict=True)


def flooding(mm_an_hour: float, hours: float, **parts: object) -> Aboard:
    """A bilge that was dry for half a day, then fills, while her float switch says nothing yet."""
    aboard = Aboard(with_bilge(dip_table=DIP, **parts), Bilge)
    aboard.live(12, {"bilge-level": noisy(0.02), "bilge-float": lambda _: 0.0}, QUICK_H)
    filling = noisy(lambda h: 0.02 + (h - 12) * mm_an_hour / 1000)
    return aboard.live(hours, {"bilge-level": filling}, QUICK_H)


def test_a_float_alarm_says_level_rate_litres_what_it_reaches_when_and_time_to_harm() -> None:
    aboard = flooding(30.0, 2.5, starter_m=0.30)
    say(aboard, "bilge-float", 1.0, after_min=5)
    say(aboard, "bilge-level", 0.097, after_min=5)
    found, words = read(aboard)
    facts = found.facts
    assert (found.kind, found.priority) == ("float", Priority.ALARM)
    assert (facts["level_is"], facts["level_mm"], facts["high_mm"]) == ("fresh", 97, 100)
    assert facts["level_ms"] == aboard.now_ms
    assert facts["rate_mm"] == pytest.approx(30, abs=6)
    assert facts["litres"] == pytest.approx(4.4, abs=1.6)
    assert (facts["reaches"], facts["reaches_mm"], facts["reached"]) == ("starter motor", 300, False)
    assert found.harm is not None
    assert found.harm.high_s is not None
    # 203 mm more at 30 mm/h is 6.8 h by the level; by the litres of the table, which widens, some 14 h.
    assert 5 * 3600 < found.harm.low_s < found.harm.high_s < 24 * 3600
    assert facts["reaches_from"] == pytest.approx(aboard.now_ms + found.harm.low_s * 1000, abs=MINUTE)
    assert facts["reaches_to"] == pytest.approx(aboard.now_ms + found.harm.high_s * 1000, abs=MINUTE)
    assert words.what.startswith("The water stands at 97 mm (")
    for told in ("the high mark is 100 mm", "It rises ", "litres an hour", "starter motor (300 mm) between"):
        assert told in words.what
    assert words.title.endswith("float switch is up, water at 97 mm")


def test_a_float_alarm_rests_on_the_level_beside_the_switch() -> None:
    aboard = flooding(30.0, 2.5)
    say(aboard, "bilge-float", 1.0, after_min=5)
    assert [seen.sensor for seen in read(aboard)[0].rests_on] == ["bilge-float", "bilge-level"]


def test_where_no_level_sensor_is_fitted_the_float_says_that_nothing_is_known_and_to_go_now() -> None:
    aboard = Aboard(with_bilge(level_sensor=None), Bilge)
    say(aboard, "bilge-float", 1.0)
    found, words = read(aboard)
    assert (found.facts["level_is"], found.facts["level_mm"], found.harm) == ("not fitted", None, None)
    assert "There is no level sensor here: how high the water stands and how fast it rises is not known. Go now." in (
        words.what
    )


def test_where_the_level_sensor_was_never_heard_the_float_says_so() -> None:
    aboard = Aboard(afloat(), Bilge)
    say(aboard, "bilge-float", 1.0)
    found, words = read(aboard)
    assert found.facts["level_is"] == "never heard"
    assert "has said nothing that can be believed" in words.what


def test_a_level_from_before_the_float_is_told_as_one_from_before() -> None:
    aboard = Aboard(afloat(), Bilge).live(12, {"bilge-level": noisy(0.02)})
    say(aboard, "bilge-float", 1.0, after_min=17)
    found, words = read(aboard)
    assert found.facts["level_is"] == "before"
    assert "Before that, at " in words.what
    assert "No rise is measured so far." in words.what


def test_a_level_that_nobody_hears_any_more_is_told_as_old_and_its_rise_as_past() -> None:
    aboard = flooding(30.0, 2.5, starter_m=0.30)
    say(aboard, "bilge-float", 1.0, after_min=5)
    wait(aboard, 12)
    found, words = read(aboard)
    assert (found.kind, found.facts["level_is"]) == ("float", "old")
    assert "How high the water stands now is not known" in words.what
    assert "It was rising " in words.what


def test_a_level_that_stays_low_after_the_float_does_not_outweigh_it() -> None:
    aboard = Aboard(afloat(), Bilge).live(12, {"bilge-level": lambda _: 0.02, "bilge-float": lambda _: 0.0})
    say(aboard, "bilge-float", 1.0, after_min=17)
    say(aboard, "bilge-level", 0.02, after_min=10)
    found, words = read(aboard)
    assert (found.kind, found.facts["level_is"]) == ("float", "low")
    assert words.what.endswith("Go by the float.")


def test_high_water_says_how_fast_it_rises_and_what_it_reaches_when() -> None:
    found, words = read(flooding(60.0, 2.0, starter_m=0.30))
    assert found.kind == "high"
    assert "At that rate it is at the starter motor (300 mm) between" in words.what
    assert words.what.startswith(f"The water stands at {found.facts['level_mm']:.0f} mm (")


def test_water_over_the_starter_motor_is_told_as_there() -> None:
    found, words = read(flooding(60.0, 3.0, starter_m=0.15))
    assert found.facts["reached"] is True
    assert "It has reached the starter motor (150 mm)." in words.what


def test_silence_after_a_rise_says_what_the_water_reaches_when_it_goes_on() -> None:
    aboard = flooding(20.0, 2.5, starter_m=0.30)
    wait(aboard, 6)
    found, words = read(aboard)
    assert found.kind == "silent after rise"
    assert "It was rising " in words.what
    assert "starter motor (300 mm)" in words.what


def test_times_told_to_come_do_not_make_a_message_newer_than_what_it_rests_on() -> None:
    found, _ = read(flooding(60.0, 2.0, starter_m=0.30))
    past = [at for name, at in found.facts.items() if name.endswith("_ms") and isinstance(at, int)]
    assert max(past) <= LAID_UP_MS + 14 * HOUR
