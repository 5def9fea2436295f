"""Who has a call: said from its alerts, so that the call's page and the alert's agree."""

from dataclasses import replace

import pytest
from told import call_of
from yards import NOW_MS, ZONE, frost, record

from monitor.model.alert import Alert, AlertChange, AlertEvent, alert_id
from monitor.model.scale import AlertState, Priority
from monitor.web.alert_shown import standing
from monitor.web.call_having import who_has
from monitor.web.clock import YardClock
from monitor.web.lines import alert_sentence

CLOCK = YardClock(ZONE, NOW_MS)
OPENED_MS = NOW_MS - 3_600_000  # 17:02


def alert(subject: str, has_it: str | None = None, state: AlertState | None = None) -> Alert:
    """Give an alarm that somebody has, or nobody."""
    seen = AlertState.UNACKNOWLEDGED if has_it is None else AlertState.ACKNOWLEDGED
    finding = replace(frost(Priority.ALARM), subject=subject)
    key = alert_id("tern", "frost", subject, OPENED_MS)
    made = Alert(key, "tern", "frost", subject, state or seen, Priority.ALARM, Priority.ALARM, OPENED_MS, finding)
    made.has_it = made.acknowledged_by = has_it
    made.acknowledged_ms = None if has_it is None else OPENED_MS
    return made


def told(*alerts: Alert, log: tuple[AlertEvent, ...] = (), accepted_ms: int | None = None) -> str:
    """Say who has a call of some alerts."""
    call = replace(call_of(alerts, "tern"), accepted_ms=accepted_ms)
    return who_has(call, alerts, lambda key: [e for e in log if e.alert == key], CLOCK)


def test_nobody_has_had_it_since_it_began() -> None:
    assert told(alert("heads")) == "nobody has had it since 17:02"


@pytest.mark.parametrize("call_opened_ms", [OPENED_MS - 86_400_000, OPENED_MS, OPENED_MS + 600_000])
def test_nobody_has_had_it_since_the_alert_opened_whenever_its_call_did(call_opened_ms: int) -> None:
    one = alert("heads")
    call = replace(call_of([one], "tern"), opened_ms=call_opened_ms)
    line = alert_sentence(one, record("tern", "Tern"), CLOCK, lambda *_: "Frost")
    assert who_has(call, [one], lambda _: [], CLOCK) == "nobody has had it since 17:02"
    assert line == "Frost (open since 17:02)"


def test_of_several_it_is_the_first_that_nobody_has_had() -> None:
    later = replace(alert("raw-water"), opened_ms=OPENED_MS + 1_800_000)
    assert told(later, alert("heads")) == "nobody has had it since 17:02"


def test_who_has_all_of_it_is_named_with_since_when() -> None:
    one = (alert("heads", "Anna Tolley"), alert("raw-water", "Anna Tolley"))
    assert told(*one, accepted_ms=OPENED_MS) == "Anna Tolley has had it since 17:02"
    two = (alert("heads", "Anna Tolley"), alert("raw-water", "Per Lund"))
    assert told(*two, accepted_ms=OPENED_MS) == "Anna Tolley and Per Lund have had it since 17:02"


def test_who_has_some_of_it_is_named_and_that_nobody_has_the_rest() -> None:
    assert told(alert("heads", "Anna Tolley"), alert("raw-water")) == "Anna Tolley has some of it; nobody has the rest"


def test_what_somebody_let_go_of_is_nobodys_since_then_and_not_since_it_began() -> None:
    freed = alert("heads")
    states = (
        (AlertChange.OPENED, AlertState.UNACKNOWLEDGED, 0),
        (AlertChange.ACKNOWLEDGED, AlertState.ACKNOWLEDGED, 10),
        (AlertChange.SHELVED, AlertState.SHELVED, 20),
        (AlertChange.BACK, AlertState.UNACKNOWLEDGED, 30),
    )
    log = tuple(
        AlertEvent(freed.id, "tern", OPENED_MS + minutes * 60_000, change, state, Priority.ALARM, "Anna Tolley")
        for change, state, minutes in states
    )
    assert told(freed, log=log) == "nobody has had it since 17:32"


@pytest.mark.parametrize("name", [None, "Anna Tolley"])
def test_the_call_and_the_alert_name_the_same(name: str | None) -> None:
    one = alert("heads", name)
    said = " ".join(standing(one, CLOCK))
    assert ("Anna Tolley has it" in said) == (name is not None)
    assert ("Anna Tolley" in told(one)) == (name is not None)


@pytest.mark.parametrize(
    ("state", "says"),
    [
        (AlertState.LATCHED, "it has cleared, and somebody must go aboard"),
        (AlertState.SHELVED, "what is left of it is put aside"),
        (AlertState.RETURNED_UNACKNOWLEDGED, "it has cleared"),
    ],
)
def test_where_nothing_stands_any_more_that_is_said(state: AlertState, says: str) -> None:
    assert told(alert("heads", "Anna Tolley", state)) == says
