"""An alert that has cleared and waits for somebody to go aboard stands no more than one that has returned."""

import pytest
from hand_made import event

from monitor.model.alert import AlertChange
from monitor.model.scale import Priority
from simulator.score.stretches import stretches_of

HOUR = 3_600_000


@pytest.mark.parametrize("cleared", [AlertChange.RETURNED, AlertChange.LATCHED, AlertChange.ENDED])
def test_a_stretch_ends_however_its_alert_cleared(cleared: AlertChange) -> None:
    events = [
        event(AlertChange.OPENED, HOUR, Priority.WARNING),
        event(cleared, 3 * HOUR, Priority.WARNING),
        event(AlertChange.REOPENED, 7 * HOUR, Priority.WARNING),
    ]
    found = stretches_of(events, {"a": ("frost", "pipe")}, 9 * HOUR, [Priority.WARNING])
    assert [(s.from_ms, s.to_ms) for s in found] == [(HOUR, 3 * HOUR), (7 * HOUR, 9 * HOUR)]
