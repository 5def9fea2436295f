"""Alert events become the stretches for which an alert stood."""

from hand_made import ALARM, CAUTION, ENDS, WARNING, at, event

from monitor.model.alert import AlertChange
from simulator.score.episodes import Stretch
from simulator.score.stretches import stretches_of

KEYS = {"a": ("frost", "raw-water")}
OPENED, PRIORITY, RETURNED = AlertChange.OPENED, AlertChange.PRIORITY, AlertChange.RETURNED


def frost(level: object, from_ms: int, to_ms: int) -> Stretch:
    assert level in {WARNING, ALARM}
    return Stretch("frost", "raw-water", level, from_ms, to_ms)  # type: ignore[arg-type]


def test_an_alarm_for_a_time_is_one_warning_and_an_alarm_inside() -> None:
    events = [
        event(OPENED, at(1), WARNING),
        event(PRIORITY, at(2), ALARM),
        event(PRIORITY, at(3), WARNING),
        event(RETURNED, at(4), WARNING),
    ]
    assert stretches_of(events, KEYS, ENDS) == [frost(ALARM, at(2), at(3)), frost(WARNING, at(1), at(4))]


def test_a_returned_alert_stands_no_more_though_nobody_has_seen_it() -> None:
    events = [event(OPENED, at(1), ALARM), event(RETURNED, at(2), ALARM), event(AlertChange.REOPENED, at(5), WARNING)]
    assert stretches_of(events, KEYS, ENDS) == [
        frost(WARNING, at(1), at(2)),
        frost(ALARM, at(1), at(2)),
        frost(WARNING, at(5), ENDS),
    ]


def test_a_caution_is_no_stretch_until_it_rises() -> None:
    events = [event(OPENED, at(1), CAUTION), event(PRIORITY, at(2), WARNING), event(PRIORITY, at(3), CAUTION)]
    assert stretches_of(events, KEYS, ENDS) == [frost(WARNING, at(2), at(3))]


def test_what_still_stands_stands_to_the_end_of_the_winter() -> None:
    assert stretches_of([event(OPENED, at(1), WARNING)], KEYS, ENDS) == [frost(WARNING, at(1), ENDS)]


def test_an_acknowledgement_ends_no_stretch() -> None:
    events = [event(OPENED, at(1), WARNING), event(AlertChange.ACKNOWLEDGED, at(2), WARNING)]
    assert stretches_of(events, KEYS, ENDS) == [frost(WARNING, at(1), ENDS)]
