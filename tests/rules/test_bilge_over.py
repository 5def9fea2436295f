"""The bilge rule through the off-delay: what is over is said to be over, at what stands now, and opens nothing."""

from zoneinfo import ZoneInfo

import pytest
from aboard import Aboard, round_trips
from boats import HOUR, LAID_UP_MS, MINUTE
from test_bilge import dry_for, noisy, say, wait, with_bilge

from monitor.messages.words import Words, put_into_words
from monitor.model.alert import Alert, AlertChange
from monitor.model.scale import Priority, Sure
from monitor.rules.bilge import Bilge
from monitor.rules.bilge_memory import BilgeState

ZONE = ZoneInfo("UTC")
GONE = {AlertChange.RETURNED, AlertChange.ENDED, AlertChange.LATCHED}


def only(aboard: Aboard) -> Alert:
    (alert,) = (a for a in aboard.watch.open_alerts() if a.subject == "bilge")
    return alert


def words(aboard: Aboard) -> Words:
    return put_into_words(only(aboard).finding, aboard.record, ZONE, aboard.now_ms, strict=True)


def gone_h(aboard: Aboard) -> list[float]:
    return [(e.at_ms - LAID_UP_MS) / HOUR for e in aboard.events if e.change in GONE]


def flooded() -> Aboard:
    """Water that comes to 180 mm and its float, and is gone an hour later."""
    aboard = dry_for(12)
    for minute in range(0, 40, 5):
        say(aboard, "bilge-level", 0.02 + 0.004 * minute, after_min=5 if minute else 1)
    say(aboard, "bilge-float", 1.0, after_min=1)
    say(aboard, "bilge-level", 0.18, after_min=4)
    say(aboard, "bilge-level", 0.02, after_min=15)
    say(aboard, "bilge-float", 0.0, after_min=1)
    say(aboard, "bilge-level", 0.02, after_min=4)
    wait(aboard, 2 / 60)
    return aboard


def test_a_flood_that_is_gone_is_told_as_gone_with_the_level_of_now_no_rate_and_no_harm() -> None:
    aboard = flooded()
    alert, told = only(aboard), words(aboard)
    assert alert.returned_ms is None
    assert alert.priority is Priority.ALARM
    assert alert.finding.over
    assert alert.finding.harm is None
    assert alert.finding.sure is not Sure.CERTAIN
    assert told.title == "Bilge: the water was high and is down again, at 20 mm"
    assert told.what.startswith("The float switch is down since ")
    assert "rises" not in told.what
    assert "The water stands at 20 mm (" in told.what
    assert "It stood at 180 mm at the most." in told.what
    assert told.how_long == "When it has cleared, it still waits for somebody to look aboard and say what they found."
    assert told.first[0].startswith("Before she is left again")


def test_an_alert_clears_at_the_time_that_it_says_and_then_no_longer_says_it() -> None:
    aboard = flooded()
    facts = only(aboard).finding.facts
    over_ms, ends_ms = facts["over_ms"], facts["ends_at"]
    assert isinstance(over_ms, int)
    assert isinstance(ends_ms, int)
    assert ends_ms == over_ms + HOUR
    assert facts["down_ms"] == pytest.approx(over_ms - 4 * MINUTE, abs=MINUTE)
    assert "this alert clears at" in words(aboard).what
    wait(aboard, 1.5)
    assert gone_h(aboard) == [pytest.approx((ends_ms - LAID_UP_MS) / HOUR)]
    assert only(aboard).latching
    assert "this alert clears" not in words(aboard).what


def test_water_that_is_back_within_the_delay_is_one_alert_and_told_as_water() -> None:
    aboard = flooded()
    say(aboard, "bilge-float", 1.0, after_min=10)
    assert not only(aboard).finding.over
    assert "the float switch is up" in words(aboard).title
    assert aboard.findings()["bilge"].priority is Priority.ALARM
    wait(aboard, 5)
    assert gone_h(aboard) == []


def test_a_float_with_no_level_sensor_says_that_no_level_is_heard() -> None:
    aboard = Aboard(with_bilge(level_sensor=None), Bilge)
    say(aboard, "bilge-float", 0.0)
    say(aboard, "bilge-float", 1.0, after_min=10)
    say(aboard, "bilge-float", 0.0, after_min=10)
    wait(aboard, 5 / 60)
    told = words(aboard)
    assert told.title == "Bilge: the float switch was up and is down again"
    assert "No level is heard here." in told.what


def test_a_rise_that_stopped_says_so_for_its_own_six_hours() -> None:
    aboard = dry_for(24)
    aboard.live(8, {"bilge-level": noisy(lambda h: 0.02 + 0.006 * (h - 24)), "bilge-float": lambda _: 0.0}, 0.25)
    assert aboard.findings()["bilge"].kind == "rise"
    aboard.live(24, {"bilge-level": noisy(0.02), "bilge-float": lambda _: 0.0}, 0.25)
    over = [e for e in aboard.events if e.change in GONE]
    assert len(over) == 1
    finding = over[0].finding
    assert finding is not None
    assert finding.over
    assert finding.kind == "rise"
    assert finding.facts["ends_at"] == over[0].at_ms
    assert finding.facts["ends_at"] - finding.facts["over_ms"] == 6 * HOUR  # type: ignore[operator]
    assert "rate_mm" not in finding.facts


def test_a_doubt_that_a_level_answers_is_told_as_answered() -> None:
    aboard = dry_for(12)
    say(aboard, "bilge-level", 0.40, after_min=60)
    say(aboard, "bilge-level", 0.021, after_min=30)
    wait(aboard, 5 / 60)
    assert only(aboard).finding.over
    assert words(aboard).title == "Bilge: there may have been water, and nothing says so now"


def test_a_bilge_heard_again_after_a_rise_is_told_as_heard_again() -> None:
    aboard = dry_for(24)
    aboard.live(8, {"bilge-level": noisy(lambda h: 0.02 + 0.006 * (h - 24)), "bilge-float": lambda _: 0.0}, 0.25)
    wait(aboard, 8)
    assert only(aboard).finding.kind == "silent after rise"
    say(aboard, "bilge-float", 0.0, after_min=1)
    for minute in (0, 10):
        say(aboard, "bilge-level", 0.02, after_min=minute)
    wait(aboard, 2 / 60)
    told = words(aboard)
    assert only(aboard).finding.over
    assert told.title == "Bilge: heard again, and neither high nor rising"
    assert "nothing is heard" not in told.what


def test_what_is_over_and_then_not_heard_at_all_does_not_clear() -> None:
    aboard = flooded()
    wait(aboard, 0.9)
    cleared = len(gone_h(aboard))
    wait(aboard, 24)
    assert cleared == 0
    assert gone_h(aboard) == [pytest.approx(gone_h(aboard)[0])]


def test_what_is_over_opens_nothing_leaves_nothing_behind_and_survives_a_snapshot() -> None:
    aboard = flooded()
    assert round_trips(aboard.state, BilgeState)
    rule = next(iter(aboard.watch.rules))
    now_ms = aboard.now_ms
    (found,) = rule.judge(aboard.state, now_ms)
    assert found.over
    ends_ms = found.facts["ends_at"]
    assert isinstance(ends_ms, int)
    look_ms = rule.next_look(aboard.state, now_ms)
    assert look_ms is not None
    assert look_ms <= ends_ms
    assert [f for f in rule.judge(aboard.state, ends_ms) if f.subject == "bilge"] == []
    assert aboard.state.bilges["bilge"].told is None
