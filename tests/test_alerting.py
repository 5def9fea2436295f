"""An alert's life as timelines: findings in, states out, one character a minute.

In: ``.`` nothing, ``c`` caution, ``w`` warning, ``a`` alarm, ``k`` acknowledged in that minute.
Out: ``.`` normal, ``U`` unacknowledged, ``A`` acknowledged, ``R`` returned unacknowledged.
"""

import pytest

from monitor.alerting import Track, acknowledge, follow, next_change, settle
from monitor.model.alert import AlertChange
from monitor.model.finding import Figure, Finding
from monitor.model.scale import AlertState, Priority, Sure

MINUTE = 60_000
_PRIORITY = {"c": Priority.CAUTION, "w": Priority.WARNING, "a": Priority.ALARM}
_LETTER = {
    AlertState.NORMAL: ".",
    AlertState.UNACKNOWLEDGED: "U",
    AlertState.ACKNOWLEDGED: "A",
    AlertState.RETURNED_UNACKNOWLEDGED: "R",
}


def finding(priority: Priority, on_min: int, off_min: int) -> Finding:
    return Finding(
        rule="frost",
        subject="closed-cooling",
        kind="margin",
        priority=priority,
        figure=Figure(-5.0, -4.0, "degC"),
        harm=None,
        sure=Sure.LIKELY,
        causes=(),
        first=(),
        never=(),
        on_delay_ms=on_min * MINUTE,
        off_delay_ms=off_min * MINUTE,
    )


def run(said: str, *, on: int = 0, off: int = 0, acks: str = "") -> tuple[str, str, Track]:
    track, states, priorities = Track(), "", ""
    for minute, letter in enumerate(said):
        now = minute * MINUTE
        follow(track, finding(_PRIORITY[letter], on, off) if letter != "." else None, now)
        settle(track, "tern", "frost", "closed-cooling", now)
        if acks[minute : minute + 1] == "k":
            acknowledge(track, now, "R. Invented", "seen")
        alert = track.alert
        states += "." if alert is None else _LETTER[alert.state]
        priorities += "." if alert is None or alert.returned_ms is not None else alert.priority.word[0]
    return states, priorities, track


@pytest.mark.parametrize(
    ("name", "said", "acks", "on", "off", "states"),
    [
        ("opens at once with no delay", "..ww..", "", 0, 0, "..UURR"),
        ("waits out its on-delay", "..wwww", "", 2, 0, "....UU"),
        ("a blink shorter than the on-delay opens nothing", ".w.w.w.", "", 2, 0, "......."),
        ("stands through a gap shorter than the off-delay", "www.www", "", 0, 2, "UUUUUUU"),
        ("returns after its off-delay", "www....", "", 0, 2, "UUUUURR"),
        ("acknowledged, then cleared, is normal", "wwww..", "..k...", 0, 0, "UUAA.."),
        ("returned and then acknowledged is normal", "ww...", "...k.", 0, 0, "UUR.."),
        ("returned and true again is unacknowledged", "ww..ww", "", 0, 0, "UURRUU"),
        ("a risen priority must be seen again", "ccccww", "..k...", 0, 0, "UUAAUU"),
        ("a fallen priority need not be", "wwwwcc", "..k...", 0, 0, "UUAAAA"),
        ("acknowledging nothing does nothing", "..ww", "k...", 0, 0, "..UU"),
    ],
)
def test_states_follow_isa_18_2(name: str, said: str, acks: str, on: int, off: int, states: str) -> None:
    assert run(said, on=on, off=off, acks=acks)[0] == states, name


def test_priority_rises_after_its_delay_and_falls_after_its_own() -> None:
    assert run("ccaaaaccccc", on=2, off=3)[1] == "..ccaaaaacc"


def test_a_worsening_finding_updates_its_alert_and_opens_no_second() -> None:
    _, _, track = run("cwa")
    assert track.alert is not None
    assert (track.alert.opened_ms, track.alert.priority) == (0, Priority.ALARM)


def test_highest_priority_is_remembered() -> None:
    _, _, track = run("cac")
    assert track.alert is not None
    assert (track.alert.priority, track.alert.highest) == (Priority.CAUTION, Priority.ALARM)


def test_next_change_is_when_the_delay_ends() -> None:
    track = Track()
    follow(track, finding(Priority.WARNING, 2, 5), 1000)
    assert next_change(track) == 1000 + 2 * MINUTE


def test_acknowledging_says_who_and_what() -> None:
    _, _, track = run("ww")
    events = acknowledge(track, 2 * MINUTE, "R. Invented", "on my way")
    assert [(e.change, e.actor, e.note) for e in events] == [(AlertChange.ACKNOWLEDGED, "R. Invented", "on my way")]
    assert acknowledge(track, 3 * MINUTE, "R. Invented", "again") == []


def test_a_track_made_from_the_journal_goes_on_as_the_one_it_came_from() -> None:
    _, _, track = run("wwaa")
    assert track.alert is not None
    again = Track.of(track.alert)
    assert again.standing is Priority.ALARM
    follow(again, None, 10 * MINUTE)
    settle(again, "tern", "frost", "closed-cooling", 10 * MINUTE)
    assert track.alert.state is AlertState.RETURNED_UNACKNOWLEDGED


def test_a_consequence_that_cleared_under_its_cover_opens_nothing_when_the_cover_goes() -> None:
    # While a cover stands the track is followed and not settled; its off-delay still runs when the cover has gone.
    track = Track()
    follow(track, finding(Priority.WARNING, 0, 60), 0)
    follow(track, None, 10 * MINUTE)
    assert track.standing is Priority.WARNING
    assert settle(track, "tern", "battery", "house", 20 * MINUTE) == []
    assert track.alert is None
    follow(track, finding(Priority.WARNING, 0, 60), 30 * MINUTE)
    (opened,) = settle(track, "tern", "battery", "house", 30 * MINUTE)
    assert opened.change is AlertChange.OPENED
