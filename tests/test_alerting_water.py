"""Water that was known when its alert was put aside stays there; another witness of it, and another flood, do not."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from monitor.alerting import Track, act, follow, settle
from monitor.alerting.water import known_since
from monitor.model.finding import Figure, Finding
from monitor.model.inputs import AlertCommand, Shelve, TakeOut
from monitor.model.scale import AlertState, Priority, Sure

MINUTE = 60_000
WHO = "R. Invented"


def water(kind: str, priority: Priority = Priority.ALARM, sure: Sure = Sure.LIKELY, **facts: str) -> Finding:
    told = kind != "rise"
    figure = Figure(1.0, None, "/")
    off_ms = 60 * MINUTE
    return Finding(
        "bilge", "bilge", kind, priority, figure, None, sure, (), (), (), (), dict(facts),
        off_delay_ms=off_ms, latches=told, always_told=told,
    )  # fmt: skip


SAYS = {
    ".": None,
    "f": water("float"),
    "F": water("float", sure=Sure.CERTAIN),
    "h": water("high", sure=Sure.CERTAIN),
    "c": water("water or sensor", why="level is low"),
    "j": water("water or sensor", why="level jumped"),
    "r": water("rise", Priority.ALARM),
}
DOES: dict[str, Callable[[str], AlertCommand]] = {
    "shelved": lambda alert: Shelve("tern", alert, MINUTE, WHO, "float sticks", 600 * MINUTE),
    "taken out": lambda alert: TakeOut("tern", alert, MINUTE, WHO, "float sticks"),
}


@pytest.mark.parametrize("does", ["shelved", "taken out"])
@pytest.mark.parametrize(
    ("said", "changes"),
    [
        (f"ff{'.' * 62}f", ["reopened", "back"]),  # dry for an hour: another flood
        ("ff..f", []),  # it laps
        ("ffF", ["back"]),  # a float that sticks, and then her level too
        ("FFffF", []),
        (f"FF{'f' * 61}F", ["back"]),  # her level had gone, and is back
        ("hhf", ["back"]),
        ("ccf", []),
        ("ccj", ["back"]),
        ("jjh", ["back"]),
        ("hhj", []),
        (f"ff{'r' * 62}f", ["back"]),
        ("ffrf", []),
    ],
)
@pytest.mark.parametrize("kept", [True, False])
def test_known_water_comes_back_for_another_witness_and_for_another_flood(
    said: str, changes: list[str], does: str, kept: bool
) -> None:
    track = Track()
    for minute, letter in enumerate(said):
        follow(track, SAYS[letter], minute * MINUTE)
        events = settle(track, "tern", "bilge", "bilge", minute * MINUTE)
        if minute == 1 and track.alert is not None:
            assert act(track, DOES[does](track.alert.id), minute * MINUTE)
            if not kept:  # as a snapshot of an older program has it
                track.known_water = known_since(track.alert)
    assert [event.change.value for event in events] == changes
    assert track.alert is not None
    assert (track.alert.state is AlertState.UNACKNOWLEDGED) is bool(changes)
    assert not changes or "water at its float or its high mark" in events[-1].note


def test_a_known_float_that_flutters_stays_aside_until_its_alert_has_cleared() -> None:
    """Somebody shelved it since it does: each time it falls for a moment is no other flood."""
    track, found = Track(), replace(water("float"), off_delay_ms=60 * MINUTE)
    for minute, said in enumerate([found, found, replace(found, over=True), found]):
        follow(track, said, minute * MINUTE)
        events = settle(track, "tern", "bilge", "bilge", minute * MINUTE)
        if minute == 1 and track.alert is not None:
            act(track, DOES["taken out"](track.alert.id), minute * MINUTE)
    assert events == []
