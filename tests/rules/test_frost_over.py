"""The frost rule through its off-delay of a day, and words and harm that fit the priority."""

from zoneinfo import ZoneInfo

import pytest
from aboard import Aboard, round_trips
from boats import HOUR, LAID_UP_MS
from test_frost import lived, record, said, steady, treated, wet

from monitor.messages.words import put_into_words
from monitor.model.alert import AlertChange
from monitor.model.scale import Priority
from monitor.rules.frost import FrostState

ZONE = ZoneInfo("UTC")
GONE = {AlertChange.RETURNED, AlertChange.ENDED, AlertChange.LATCHED}


def night_over() -> Aboard:
    """A night at the margin, and a mild day after it."""
    aboard = lived(record(treated()), 12, steady(-18.8))
    return aboard.live(6, {"engine-space": steady(4.0), "volts": steady(12.65)})


def test_a_frost_that_is_over_says_since_when_how_warm_it_is_and_when_the_alert_clears() -> None:
    aboard = night_over()
    (alert,) = aboard.watch.open_alerts()
    assert alert.finding.over
    assert alert.finding.harm is None
    told = put_into_words(alert.finding, aboard.record, ZONE, aboard.now_ms, strict=True)
    assert told.title == "Closed cooling was close to its freezing point, and no longer is"
    assert "It was 4.0 °C there at " in told.what
    assert "this alert clears at " in told.what
    ends_ms = alert.finding.facts["ends_at"]
    assert ends_ms == alert.finding.facts["over_ms"] + 24 * HOUR  # type: ignore[operator]
    aboard.live(30, {"engine-space": steady(4.0), "volts": steady(12.65)})
    (gone,) = (e.at_ms for e in aboard.events if e.change in GONE)
    assert gone == ends_ms
    assert aboard.findings() == {}
    assert aboard.state.told == {}


def test_a_frost_that_is_back_within_the_day_is_one_alert_and_told_as_frost() -> None:
    aboard = night_over().live(6, {"engine-space": steady(-18.8), "volts": steady(12.65)})
    (alert,) = aboard.watch.open_alerts()
    assert not alert.finding.over
    assert alert.finding.facts["t_degc"] == -18.8
    assert len(aboard.opened_h()) == 1


def test_a_state_with_what_is_over_comes_back_from_a_snapshot() -> None:
    aboard = night_over()
    assert aboard.state.told
    assert round_trips(aboard.state, FrostState)
    assert aboard.now_ms > LAID_UP_MS


@pytest.mark.parametrize("degc", [-18.6, -19.4, -19.9])
def test_a_warning_within_the_errors_does_not_say_that_harm_has_begun(degc: float) -> None:
    finding = said(record(treated()), degc)
    assert finding is not None
    assert finding.priority is Priority.WARNING
    assert finding.harm is not None
    assert finding.harm.low_s > 0.0
    assert "call_out" not in finding.first


def test_what_freezes_with_no_proof_of_water_in_it_may_be_harmed_at_any_moment_and_is_not_said_to_have_been() -> None:
    drained = wet(state="drained", drains=[{"name": "sump", "probed": True}, {"name": "tap", "probed": False}])
    finding = said(record(drained), -3.0)
    assert finding is not None
    assert finding.priority is Priority.WARNING
    told = put_into_words(finding, record(drained), ZONE, LAID_UP_MS + 6 * HOUR, strict=True)
    assert told.how_long == "Harm may begin at any moment if nobody acts."


def test_what_is_measured_at_its_freezing_point_is_an_alarm_and_harm_may_have_begun() -> None:
    finding = said(record(treated()), -20.1)
    assert finding is not None
    assert finding.priority is Priority.ALARM
    assert finding.harm is not None
    assert (finding.harm.low_s, finding.harm.high_s) == (0.0, None)
