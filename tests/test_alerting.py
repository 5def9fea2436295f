"""An alert's life as timelines: findings in, states out, one character a minute.

In: ``.`` nothing, ``c`` caution, ``w`` warning, ``a`` alarm, ``W`` a warning that latches. People: ``k`` acknowledge,
``v`` confirm, ``h`` hand over, ``t`` accept, ``s`` shelve for ten minutes, ``o`` take out, ``b`` bring back.
Out: ``.`` normal, ``U`` unacknowledged, ``A`` acknowledged, ``R`` returned unacknowledged, ``L`` latched,
``S`` shelved, ``P`` suppressed, ``O`` out of service.
"""

from collections.abc import Callable
from dataclasses import replace

import pytest

from monitor.alerting import Aside, Track, act, follow, next_change, refusal, settle, suppress
from monitor.alerting.limits import LIMITS
from monitor.model.alert import Alert, AlertChange, AlertEvent
from monitor.model.finding import Figure, Finding
from monitor.model.inputs import (
    Accept,
    Acknowledge,
    AlertCommand,
    BringBack,
    Confirm,
    HandOver,
    Shelve,
    TakeOut,
)
from monitor.model.scale import AlertState, Priority, Sure

MINUTE = 60_000
DAY = 24 * 60 * MINUTE
WHO = "R. Invented"
_PRIORITY = {"c": Priority.CAUTION, "w": Priority.WARNING, "W": Priority.WARNING, "a": Priority.ALARM}
_LETTER = {
    AlertState.NORMAL: ".",
    AlertState.UNACKNOWLEDGED: "U",
    AlertState.ACKNOWLEDGED: "A",
    AlertState.RETURNED_UNACKNOWLEDGED: "R",
    AlertState.LATCHED: "L",
    AlertState.SHELVED: "S",
    AlertState.SUPPRESSED: "P",
    AlertState.OUT_OF_SERVICE: "O",
}
_DOES: dict[str, Callable[[str, int], AlertCommand]] = {
    "k": lambda alert, now: Acknowledge("tern", alert, now, WHO, "seen"),
    "v": lambda alert, now: Confirm("tern", alert, now, WHO, "dry"),
    "h": lambda alert, now: HandOver("tern", alert, now, WHO, "A. Other"),
    "t": lambda alert, now: Accept("tern", alert, now, "A. Other"),
    "s": lambda alert, now: Shelve("tern", alert, now, WHO, "probe fell off", now + 10 * MINUTE),
    "o": lambda alert, now: TakeOut("tern", alert, now, WHO, "probe is broken"),
    "b": lambda alert, now: BringBack("tern", alert, now, WHO),
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


def seen(track: Track, note: str = "seen") -> Acknowledge:
    return Acknowledge("tern", "" if track.alert is None else track.alert.id, 0, WHO, note)


def run(
    said: str, *, on: int = 0, off: int = 0, acks: str = "", log: list[AlertEvent] | None = None
) -> tuple[str, str, Track]:
    track, states, priorities = Track(), "", ""
    log = [] if log is None else log
    for minute, letter in enumerate(said):
        now = minute * MINUTE
        found = replace(finding(_PRIORITY[letter], on, off), latches=letter == "W") if letter != "." else None
        follow(track, found, now)
        log += settle(track, "tern", "frost", "closed-cooling", now)
        done = acks[minute : minute + 1].strip(".")
        if done and track.alert is not None:
            log += act(track, _DOES[done](track.alert.id, now), now)
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
    events = act(track, seen(track, "on my way"), 2 * MINUTE)
    assert [(e.change, e.actor, e.note) for e in events] == [(AlertChange.ACKNOWLEDGED, "R. Invented", "on my way")]
    assert act(track, seen(track, "again"), 3 * MINUTE) == []


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


@pytest.mark.parametrize(
    ("name", "said", "people", "states"),
    [
        ("cleared, it stays until somebody who was aboard confirms it", "WW...", "....v", "UULL."),
        ("acknowledged, it stays all the same", "WW...", "k...v", "AALL."),
        ("acknowledging what is latched does not end it", "WW...", "...k.", "UULLL"),
        ("accepting what is latched does not end it", "WW...", "...t.", "UULLL"),
        ("confirmed while it stands, it ends as it clears", "WW..", "v...", "AA.."),
        ("once it has latched it does so for its life", "WWcc..", "", "UUUULL"),
        ("confirmed, back and cleared, it has to be confirmed again", "W.W.W.", "..v...", "ULA.UL"),
        ("back again it is news, though it was seen", "W..W.", ".k...", "ULLUL"),
        ("a confirmation before a rise does not count after it", "Waaa.", "v....", "AUUUL"),
        ("confirming what returned ends it", "w..", "..v", "UR."),
        ("accepted is acknowledged", "www.", ".t..", "UAA."),
        ("handed over is not yet acknowledged", "www.", ".h..", "UUUR"),
        ("accepting what returned ends it", "w..", "..t", "UR."),
        ("shelved, it is followed there and ends where it has cleared", "www..", ".s..b", "USSS."),
        ("shelved, and brought back, it is told anew", "wwwww", "ks.b.", "ASSUU"),
        ("a shelf ends at once where the priority rises above what it was shelved at", "wwwaa", ".s...", "USSUU"),
        ("a shelf does not end where it falls and rises to what it was", "wwcww", ".s...", "USSSS"),
        ("shelved, a latching one is latched when it comes back", "WW...", ".s..b", "USSSL"),
        ("out of service it stays whatever rises", "wwaa.w", ".o....", "UOOOOO"),
        ("out of service, brought back", "wwww", ".o.b", "UOOU"),
        ("what is out of service cannot be shelved", "www", "os.", "OOO"),
        ("what is shelved can be taken out", "www", "so.", "SOO"),
    ],
)
def test_states_follow_what_people_do(name: str, said: str, people: str, states: str) -> None:
    assert run(said, acks=people)[0] == states, name


def log_of(said: str, people: str) -> list[tuple[str, str, str]]:
    log: list[AlertEvent] = []
    run(said, acks=people, log=log)
    return [(event.change.value, event.actor, event.note) for event in log]


def test_everything_that_is_done_stands_in_the_log_with_who_and_what() -> None:
    assert log_of("WWWWWWW.", "khtsbov") == [
        ("opened", "watch", ""),
        ("acknowledged", WHO, "seen"),
        ("handed over", WHO, "A. Other"),
        ("accepted", "A. Other", ""),
        ("shelved", WHO, "probe fell off"),
        ("back", WHO, ""),
        ("out of service", WHO, "probe is broken"),
        ("confirmed", WHO, "dry"),
        ("returned", "watch", ""),
    ]
    assert log_of("W.", ".v")[1:] == [("latched", "watch", ""), ("confirmed", WHO, "dry"), ("ended", WHO, "")]


def alert_after(said: str, people: str) -> Alert:
    _, _, track = run(said, acks=people)
    assert track.alert is not None
    return track.alert


def test_whoever_acknowledges_has_it_where_nobody_has_and_whoever_accepts_has_it_then() -> None:
    assert alert_after("w", "k").has_it == WHO
    handed = alert_after("ww", "kh")
    assert (handed.has_it, handed.offered_to) == (WHO, "A. Other")
    taken = alert_after("www", "kht")
    assert (taken.has_it, taken.offered_to, taken.acknowledged_by) == ("A. Other", None, "A. Other")


@pytest.mark.parametrize(
    ("said", "people"),
    [("wwa", "kh."), ("WW.W", "kh.."), ("wwww", "khs"), ("wwww", "kho")],
    ids=["a rise", "back again", "shelved", "out of service"],
)
def test_where_it_is_news_again_nobody_has_it_and_nobody_is_to_have_it(said: str, people: str) -> None:
    track = run(said, acks=people)[2]
    assert track.alert is not None
    if track.alert.state.is_aside:
        assert (track.alert.has_it, track.alert.offered_to) == (WHO, "A. Other")
        act(track, BringBack("tern", track.alert.id, 0, WHO), 9 * MINUTE)
    assert (track.alert.state, track.alert.acknowledged_by) == (AlertState.UNACKNOWLEDGED, None)
    assert (track.alert.has_it, track.alert.offered_to) == (None, None)


def test_what_waits_for_somebody_aboard_is_still_theirs_who_had_it_when_it_was_put_aside() -> None:
    track = run("WW...", acks="ts..")[2]
    assert track.alert is not None
    act(track, BringBack("tern", track.alert.id, 0, WHO), 9 * MINUTE)
    assert (track.alert.state, track.alert.has_it, track.alert.acknowledged_by) == (
        AlertState.LATCHED,
        "A. Other",
        "A. Other",
    )


def test_an_event_says_to_whom_it_is_handed_and_until_when_it_is_put_aside() -> None:
    log: list[AlertEvent] = []
    run("wwww", acks="hsb", log=log)
    assert [(e.change.value, e.to, e.until_ms) for e in log] == [
        ("opened", "", None),
        ("handed over", "A. Other", None),
        ("shelved", "", 11 * MINUTE),
        ("back", "", None),
    ]


@pytest.mark.parametrize("does", ["s", "o"])
def test_what_somebody_put_aside_comes_back_where_it_turns_to_water(does: str) -> None:
    _, _, track = run("ww", acks=f".{does}")
    follow(track, replace(finding(Priority.WARNING, 0, 0), always_told=True), 3 * MINUTE)
    (back,) = settle(track, "tern", "bilge", "bilge", 3 * MINUTE)
    assert (back.change, back.state, back.actor) == (AlertChange.BACK, AlertState.UNACKNOWLEDGED, "watch")
    assert "water at its float" in back.note


@pytest.mark.parametrize("does", ["s", "o", "so"])
@pytest.mark.parametrize("journal", [False, True])
def test_what_was_water_when_it_was_put_aside_stays_there_until_its_end(does: str, journal: bool) -> None:
    track, water = Track(), replace(finding(Priority.WARNING, 0, 0), always_told=True)
    for minute in range(6):
        follow(track, water, minute * MINUTE)
        events = settle(track, "tern", "bilge", "bilge", minute * MINUTE)
        assert minute == 0 or events == []
        for one in does if minute == 1 else "":
            assert track.alert is not None
            act(track, _DOES[one](track.alert.id, minute * MINUTE), minute * MINUTE)
        if journal and track.alert is not None:
            track = Track.of(track.alert)
    assert track.alert is not None
    assert track.alert.state.is_aside


def test_water_that_had_gone_when_it_was_put_aside_and_comes_again_is_told() -> None:
    track, water = Track(), replace(finding(Priority.ALARM, 0, 0), always_told=True)
    for minute, said in enumerate([water, None, None, water]):
        follow(track, said, minute * MINUTE)
        events = settle(track, "tern", "bilge", "bilge", minute * MINUTE)
        if minute == 1:
            assert track.alert is not None
            act(track, TakeOut("tern", track.alert.id, 0, WHO, "float is broken"), MINUTE)
    assert [e.change for e in events] == [AlertChange.REOPENED, AlertChange.BACK]


def test_a_rise_forgets_who_has_seen_and_confirmed_it() -> None:
    risen = alert_after("Wa", "v")
    assert (risen.acknowledged_ms, risen.acknowledged_by, risen.confirmed_ms, risen.confirmed_by) == (None,) * 4


def test_what_has_not_outlasted_its_on_delay_latches_nothing() -> None:
    track = Track()
    for minute, (priority, on) in enumerate([(Priority.CAUTION, 0), (Priority.WARNING, 5), (Priority.CAUTION, 0)]):
        follow(track, replace(finding(priority, on, 0), latches=priority is Priority.WARNING), minute * MINUTE)
        settle(track, "tern", "frost", "closed-cooling", minute * MINUTE)
    assert track.alert is not None
    assert not track.alert.latching


ASIDE = Aside(WHO, "wash-down", 240 * MINUTE, "hose in the cockpit")


def test_an_alert_that_opens_while_something_is_done_aboard_opens_put_aside() -> None:
    track = Track()
    follow(track, finding(Priority.WARNING, 0, 0), 0)
    (opened,) = settle(track, "tern", "frost", "closed-cooling", 0, ASIDE)
    assert (opened.change, opened.state) == (AlertChange.OPENED, AlertState.SUPPRESSED)
    assert track.alert is not None
    assert (track.alert.aside_by, track.alert.aside_why, track.alert.aside_until_ms) == (WHO, "wash-down", 240 * MINUTE)
    (back,) = settle(track, "tern", "frost", "closed-cooling", MINUTE)
    assert (back.change, back.state, track.alert.aside_by) == (AlertChange.BACK, AlertState.UNACKNOWLEDGED, None)


def test_water_is_told_whatever_is_done_aboard() -> None:
    track = Track()
    follow(track, replace(finding(Priority.ALARM, 0, 0), always_told=True), 0)
    (opened,) = settle(track, "tern", "bilge", "bilge", 0, ASIDE)
    assert opened.state is AlertState.UNACKNOWLEDGED
    assert suppress(track, ASIDE, MINUTE) == []


def test_what_was_put_aside_and_turns_to_water_is_told_at_once() -> None:
    track = Track()
    follow(track, finding(Priority.WARNING, 0, 0), 0)
    settle(track, "tern", "bilge", "bilge", 0, ASIDE)
    follow(track, replace(finding(Priority.ALARM, 0, 0), always_told=True), MINUTE)
    events = settle(track, "tern", "bilge", "bilge", MINUTE, ASIDE)
    assert [(e.change, e.state) for e in events] == [
        (AlertChange.PRIORITY, AlertState.SUPPRESSED),
        (AlertChange.BACK, AlertState.UNACKNOWLEDGED),
    ]


def test_what_has_cleared_and_waits_to_be_seen_is_not_put_aside() -> None:
    _, _, track = run("w.")
    assert suppress(track, ASIDE, 2 * MINUTE) == []


def test_a_shelf_that_ends_while_something_is_done_aboard_stays_put_aside_for_that() -> None:
    _, _, track = run("ww", acks=".s")
    assert track.alert is not None
    (event,) = act(track, BringBack("tern", track.alert.id, 0, WHO), 2 * MINUTE, ASIDE)
    assert (event.change, event.note) == (AlertChange.SUPPRESSED, "wash-down: hose in the cockpit")


@pytest.mark.parametrize(
    ("said", "people", "command", "words"),
    [
        ("w", "", Acknowledge("tern", "a", 0, " "), "nobody is named"),
        ("w", "k", Acknowledge("tern", "a", 0, "A. Other"), f"{WHO} has seen it already"),
        ("W.", "k.", Acknowledge("tern", "a", 0, "A. Other"), f"{WHO} has seen it already"),
        ("w", "s", Acknowledge("tern", "a", 0, WHO), "put aside: bring it back first"),
        ("w", "o", Acknowledge("tern", "a", 0, WHO), "a manager has to bring it back first"),
        ("w", "", Confirm("tern", "a", 0, WHO, " "), "write what it was, or that nothing was wrong"),
        ("w", "", HandOver("tern", "a", 0, WHO, ""), "nobody is named to hand it over to"),
        ("w", "k", HandOver("tern", "a", 0, "A. Other", WHO), f"{WHO} has it already"),
        ("w", "", Shelve("tern", "a", 0, WHO, " ", MINUTE * 60), "no reason is given"),
        ("w", "", Shelve("tern", "a", 0, WHO, "why", MINUTE), "is past: name one to come"),
        ("w", "", Shelve("tern", "a", 0, WHO, "why", 8 * DAY), "it may be put aside for 7 days at most, not 19"),
        ("a", "", Shelve("tern", "a", 0, WHO, "why", DAY), "an alarm may be put aside for 12 hours at most, not 24"),
        ("w", "o", Shelve("tern", "a", 0, WHO, "why", DAY), "a manager has put it aside already"),
        ("w", "", TakeOut("tern", "a", 0, WHO, ""), "no reason is given"),
        ("w", "o", TakeOut("tern", "a", 0, WHO, "why"), "a manager has put it aside already"),
        ("w", "", BringBack("tern", "a", 0, WHO), "it is not put aside"),
    ],
)
def test_what_cannot_be_done_is_refused_in_words(said: str, people: str, command: AlertCommand, words: str) -> None:
    _, _, track = run(said, acks=people)
    assert track.alert is not None
    before = replace(track.alert)
    assert words in refusal(track.alert, command, MINUTE)
    assert act(track, command, MINUTE) == []
    assert track.alert == before


def test_nothing_wrong_needs_no_more_words() -> None:
    _, _, track = run("w")
    assert track.alert is not None
    assert refusal(track.alert, Confirm("tern", "a", 0, WHO, "", nothing_wrong=True), MINUTE) == ""


@pytest.mark.parametrize(("said", "limit"), [("w", "shelf_most"), ("a", "shelf_most_alarm")])
def test_a_shelf_may_last_as_long_as_its_limit_and_no_longer(said: str, limit: str) -> None:
    _, _, track = run(said)
    assert track.alert is not None
    last = LIMITS.ms(limit)
    assert refusal(track.alert, Shelve("tern", "a", 0, WHO, "why", last), 0) == ""
    assert refusal(track.alert, Shelve("tern", "a", 0, WHO, "why", last + 1), 0) != ""


def test_a_shelved_alert_of_the_journal_is_shelved_at_its_priority() -> None:
    again = Track.of(alert_after("ww", ".s"))
    follow(again, finding(Priority.ALARM, 0, 0), 3 * MINUTE)
    events = settle(again, "tern", "frost", "closed-cooling", 3 * MINUTE)
    assert events[-1].change is AlertChange.BACK
