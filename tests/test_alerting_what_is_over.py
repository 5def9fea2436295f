"""A finding that is over words the alert that stands through its off-delay, and changes nothing else."""

from dataclasses import replace

from boats import MINUTE
from test_alerting import finding

from monitor.alerting import Track, follow, settle
from monitor.model.alert import AlertChange, AlertEvent
from monitor.model.finding import Finding
from monitor.model.scale import Priority

SAID = finding(Priority.WARNING, 0, 3)
OVER = replace(SAID, over=True, facts={"heard_again_ms": 2 * MINUTE})


def go(*said: Finding | None) -> tuple[Track, list[AlertEvent]]:
    track, log = Track(), []
    for minute, one in enumerate(said):
        follow(track, one, minute * MINUTE)
        log += settle(track, "tern", "frost", "closed-cooling", minute * MINUTE)
    return track, log


def test_what_is_over_ends_when_saying_nothing_would_have_ended_it_and_words_it_meanwhile() -> None:
    track, worded = go(SAID, SAID, OVER, OVER, OVER, None)
    _, bare = go(SAID, SAID, None, None, None, None)
    assert [(e.at_ms, e.change) for e in worded] == [(e.at_ms, e.change) for e in bare]
    assert worded[-1].change is AlertChange.RETURNED
    assert worded[-1].at_ms == 5 * MINUTE
    assert track.alert is not None
    assert track.alert.finding.facts == {"heard_again_ms": 2 * MINUTE}


def test_what_is_over_opens_no_alert_even_where_it_stood_under_a_cover() -> None:
    track, log = Track(), []
    follow(track, SAID, 0)  # told under another's alert: not settled
    follow(track, OVER, MINUTE)
    log += settle(track, "tern", "frost", "closed-cooling", MINUTE)
    assert log == []
    assert go(OVER, OVER)[1] == []


def test_what_is_over_and_true_again_goes_on_as_one_alert() -> None:
    track, log = go(SAID, OVER, SAID, SAID, SAID, SAID, SAID)
    assert [e.change for e in log] == [AlertChange.OPENED]
    assert track.standing is Priority.WARNING


def test_what_is_over_latches_nothing() -> None:
    track, _ = go(SAID, replace(OVER, latches=True))
    assert track.alert is not None
    assert not track.alert.latching
