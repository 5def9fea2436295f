"""One trouble of many boats is one call; and wherever batches are cut, and the agent killed, it is all the same."""

from dataclasses import replace
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st
from telling.yard_told import T0, Told, people

from monitor.model.alert import Alert, AlertChange, AlertEvent
from monitor.model.batch import Batch
from monitor.model.call import CallKind
from monitor.model.notice import Notice, NoticeKind
from monitor.model.scale import AlertState, Priority
from monitor.model.vessel import Person

ALARM, WARNING = Priority.ALARM, Priority.WARNING
OPENED, SEEN, ENDED = AlertChange.OPENED, AlertChange.ACKNOWLEDGED, AlertChange.ENDED
HANDED, ACCEPTED = AlertChange.HANDED_OVER, AlertChange.ACCEPTED
MINUTE = 60_000


def night(boats: int, every_min: float = 1.0, **ladder: float) -> Told:
    told = Told(boats=boats, **ladder)
    for n in range(boats):
        told.event(n * every_min, OPENED, vessel=f"boat-{n + 1}", harm_h=boats - n)
    return told


def kinds(told: Told, *, owners: bool) -> list[tuple[str, str]]:
    return [(n.person, n.kind) for n in told.notices if n.owner is owners]


def test_a_frost_night_over_two_hundred_boats_is_one_call_and_one_message_an_owner() -> None:
    told = night(200, every_min=0.1)
    told.clock(120)
    fleet = [call for call in told.calls.values() if call.kind is CallKind.FLEET]
    assert [(call.about, len(call.vessels)) for call in fleet] == [("frost", 200)]
    assert [kind for who, kind in kinds(told, owners=False) if who == "Anna"] == [NoticeKind.NEW, NoticeKind.MORE]
    owners = kinds(told, owners=True)
    assert len(owners) == len(set(owners)) == 200
    assert {kind for _, kind in owners} == {NoticeKind.NEW}


def test_its_boats_are_ranked_by_time_to_harm_and_then_as_the_yard_is_walked() -> None:
    told = night(5)
    told.clock(20)
    (call,) = [call for call in told.calls.values() if call.kind is CallKind.FLEET]
    assert call.vessels == ("boat-5", "boat-4", "boat-3", "boat-2", "boat-1")
    level = Told(boats=12)
    for n in (10, 2, 1):
        level.event(0, OPENED, vessel=f"boat-{n}")
    level.clock(20)
    (call,) = [call for call in level.calls.values() if call.kind is CallKind.FLEET]
    assert call.vessels == ("boat-1", "boat-2", "boat-10")


def test_two_boats_are_two_calls_and_so_are_three_hours_apart() -> None:
    for told in (night(2), night(3, every_min=90)):
        told.clock(600)
        assert {call.kind for call in told.calls.values()} == {CallKind.VESSEL}


def test_what_a_boat_has_beside_the_frost_is_her_own_call() -> None:
    told = night(4)
    told.event(5, OPENED, "battery/house", vessel="boat-2")
    told.clock(30)
    about = {(call.kind.value, call.about) for call in told.calls.values() if call.ended_ms is None}
    assert about == {("fleet", "frost"), ("vessel", "boat-2")}
    assert ("Owner 2", NoticeKind.NEW) in kinds(told, owners=True)


def test_the_ladder_is_climbed_once_and_boats_that_join_do_not_begin_it_again() -> None:
    told = Told(boats=6)
    for n in range(1, 4):
        told.event(0, OPENED, "power/shore-power", ALARM, vessel=f"boat-{n}")
    told.event(100, OPENED, "power/shore-power", ALARM, vessel="boat-4")
    told.event(101, OPENED, "power/shore-power", ALARM, vessel="boat-5")
    told.clock(500)
    escalated = [(n.at_ms - T0, n.person) for n in told.notices if n.kind is NoticeKind.ESCALATED]
    assert escalated == [(16 * MINUTE, "Ben"), (31 * MINUTE, "Carl")]
    joined = [(n.at_ms - T0) / MINUTE for n in told.notices if n.kind is NoticeKind.MORE and n.channel == "email"]
    assert joined == [1, 100, 130]  # the second of them half an hour after the first, with all that has come till then


def test_an_alarm_that_joins_after_somebody_had_the_event_climbs_anew() -> None:
    told = Told(boats=5)
    for n in range(1, 4):
        told.event(0, OPENED, "bilge/bilge", ALARM, vessel=f"boat-{n}", water=True)
        told.event(5, SEEN, "bilge/bilge", ALARM, vessel=f"boat-{n}", actor="Anna")
    told.event(60, OPENED, "bilge/bilge", ALARM, vessel="boat-4", water=True)
    told.clock(100)
    escalated = [(n.at_ms - T0, n.person) for n in told.notices if n.kind is NoticeKind.ESCALATED]
    assert escalated == [(75 * MINUTE, "Ben"), (90 * MINUTE, "Carl")]


def test_an_event_whose_ladder_is_at_its_end_climbs_anew_for_a_boat_that_joins() -> None:
    told = Told(boats=5, repeat_at_most=1)
    for n in range(1, 4):
        told.event(0, OPENED, "bilge/bilge", ALARM, vessel=f"boat-{n}", water=True)
    told.clock(590)
    told.event(600, OPENED, "bilge/bilge", ALARM, vessel="boat-4", water=True)
    told.clock(640)
    escalated = [((n.at_ms - T0) / MINUTE, n.person) for n in told.notices if n.kind is NoticeKind.ESCALATED]
    assert escalated == [(16, "Ben"), (31, "Carl"), (615, "Ben"), (630, "Carl")]


def test_what_a_boat_has_beside_an_event_of_the_same_moment_is_told_too() -> None:
    told = Told(boats=3)
    for n in range(1, 4):
        told.event(0, OPENED, "bilge/bilge", ALARM, vessel=f"boat-{n}", water=True)
    told.event(0, OPENED, "battery/house", ALARM, vessel="boat-1")
    assert len({n.id for n in told.notices}) == len(told.notices)
    assert told.alerts["boat-1/battery/house"].id in {key for n in told.notices for key in n.alerts}


def test_many_alarms_within_seconds_ring_twice_and_then_once_for_all_of_them_and_water_at_once() -> None:
    told = Told(boats=9)
    for n in range(1, 8):
        told.event(n / 10, OPENED, "bilge/bilge", ALARM, vessel=f"boat-{n}", water=True)
    told.event(5, OPENED, "bilge/bilge", ALARM, vessel="boat-8", water=True)
    told.event(6, OPENED, "bilge/bilge", ALARM, vessel="boat-9", water=True)
    told.clock(14)
    rings = [n for n in told.notices if n.channel == "webhook"]
    assert [(round((n.at_ms - T0) / MINUTE, 1), n.kind, len(n.alerts)) for n in rings] == [
        (0.1, "new", 1),
        (0.2, "new", 1),
        (1.3, "more", 7),
        (5.0, "more", 8),
        (6.0, "more", 9),
    ]
    assert [n.reason for n in rings[2:]] == [
        "you have the duty this week, and it is 7 boats now",
        "you have the duty this week, and it is 8 boats now",
        "you have the duty this week, and it is 9 boats now",
    ]


def test_an_event_of_alarms_rings_at_once_where_nobody_was_just_rung() -> None:
    told = Told(boats=4, fleet_within_min=60)
    for n, at_min in ((1, 0), (2, 20), (3, 40)):
        told.event(at_min, OPENED, "bilge/bilge", ALARM, vessel=f"boat-{n}", water=True)
    assert [(n.at_ms - T0) / MINUTE for n in told.notices if n.channel == "webhook" and n.kind != "again"] == [
        0,
        20,
        40,
    ]


def test_the_first_of_an_event_is_water_and_the_last_is_what_is_merely_not_heard() -> None:
    told = Told(boats=1)
    told.event(0, OPENED, "silence/gateway", ALARM, harm_h=1)
    told.event(0, OPENED, "frost/heads", ALARM, harm_h=2)
    told.event(0, OPENED, "bilge/bilge", ALARM, water=True)
    told.event(0, OPENED, "battery/house", WARNING, harm_h=0.5)
    order = [
        told.alerts[f"boat-1/{what}"].id for what in ("bilge/bilge", "frost/heads", "silence/gateway", "battery/house")
    ]
    assert list(told.notices[-1].alerts[:3]) == order[:3]
    (call,) = told.calls.values()
    assert list(call.alerts) == order


def test_whoever_was_told_of_a_boat_before_it_became_an_event_has_one_message_as_her_owner() -> None:
    told = Told(boats=4)
    told.event(0, OPENED, vessel="boat-1")
    told.clock(26)  # her owner was told at 25
    for n in (2, 3, 4):
        told.event(30, OPENED, vessel=f"boat-{n}")
    told.clock(120)
    assert [who for who, _ in kinds(told, owners=True)].count("Owner 1") == 1


def test_a_night_that_somebody_has_is_told_to_the_owners_with_who_it_is() -> None:
    told = night(4)
    told.clock(14)
    for n in range(1, 5):
        told.event(15, SEEN, vessel=f"boat-{n}", actor="Anna")
    told.clock(600)
    owners = [n for n in told.notices if n.owner]
    assert len(owners) == 4
    assert all("Anna has it" in n.reason for n in owners)
    assert not [n for n in told.notices if n.kind in {NoticeKind.ESCALATED, NoticeKind.AGAIN}]


def test_another_week_is_another_event() -> None:
    told = night(3)
    told.clock(20)
    for n in range(1, 4):
        told.event(24 * 60, OPENED, "frost/raw-water", vessel=f"boat-{n}")
    told.clock(25 * 60)
    assert len([call for call in told.calls.values() if call.kind is CallKind.FLEET]) == 2


def week_yard() -> Told:
    """Six boats: one owner of two of them, and one who cannot be reached."""
    told = Told(boats=6, everybody=people(anna=("22:00", "06:00")))
    two, mute = Person(name="Owner 4", email="owner-4@example.org"), Person(name="Owner 3")
    for boat, owner in (("boat-5", two), ("boat-3", mute)):
        told.vessels[boat] = told.vessels[boat].model_copy(update={"owner": owner})
    return told


def eventful() -> list[Batch]:
    """Give a week in batches of one item each: frost over five boats, water, a warning held, people, a digest."""
    told = week_yard()
    told.clock(0)
    told.event(1, OPENED, "maintenance/visit", Priority.CAUTION, vessel="boat-6")
    for n in range(1, 6):
        told.event(10 + 3 * n, OPENED, vessel=f"boat-{n}", harm_h=30)
    told.clock(40)
    told.event(41, OPENED, "bilge/bilge", ALARM, vessel="boat-2", water=True)
    told.aboard(50, "Ben", 170)
    told.clock(75)
    told.event(80, SEEN, "bilge/bilge", ALARM, vessel="boat-2", actor="Ben")
    told.event(81, HANDED, "bilge/bilge", ALARM, vessel="boat-2", actor="Ben", to="Carl")
    told.event(82, HANDED, "bilge/bilge", ALARM, vessel="boat-2", actor="Ben", to="Anna")
    told.event(110, ACCEPTED, "bilge/bilge", ALARM, vessel="boat-2", actor="Anna")
    told.event(200, AlertChange.LATCHED, "bilge/bilge", ALARM, vessel="boat-2", state=AlertState.LATCHED)
    told.clock(400)
    for n in range(1, 6):
        told.event(500, SEEN, vessel=f"boat-{n}", actor="Anna")
    told.event(520, OPENED, "damp/cabin", vessel="boat-6")
    told.event(540, AlertChange.SHELVED, "damp/cabin", vessel="boat-6", actor="Ben", until_min=600)
    told.event(600, AlertChange.BACK, "damp/cabin", vessel="boat-6")
    told.event(640, AlertChange.PRIORITY, "damp/cabin", ALARM, vessel="boat-6")
    told.event(650, SEEN, "damp/cabin", ALARM, vessel="boat-6", actor="Carl")
    told.event(820, OPENED, "battery/house", vessel="boat-1", harm_h=60)
    told.clock(2000)
    for n in range(1, 6):
        told.event(2100, ENDED, vessel=f"boat-{n}")
    told.clock(4000)
    return told.fed


WEEK = eventful()


def joined(batches: list[Batch]) -> Batch:
    """Give several batches as one, as a busier minute would have cut them: alerts in their latest form."""
    alerts: dict[str, Alert] = {}
    events: list[tuple[int, int, AlertEvent]] = []
    for batch in batches:
        events += batch.events
        alerts |= {key: replace(alert) for key, alert in batch.alerts.items()}
    return Batch(inputs=[i for b in batches for i in b.inputs], events=events, alerts=alerts)


def played(cuts: list[int], *, killed: bool) -> list[Notice]:
    """Play the week in batches that end at the cuts; killed: by a new telling from the kept state after each."""
    told = week_yard()
    edges = [0, *sorted(set(cuts)), len(WEEK)]
    for begin, end in pairwise(edges):
        told.feed(joined(WEEK[begin:end]))
        if killed:
            told.telling = told.made(told.kept)
    return told.notices


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(1, len(WEEK) - 1), max_size=12), st.booleans())
def test_how_batches_are_cut_and_where_the_agent_is_killed_changes_nothing(cuts: list[int], killed: bool) -> None:
    assert played(cuts, killed=killed) == played(list(range(len(WEEK))), killed=False)


def test_the_week_has_every_kind_of_notice() -> None:
    assert {n.kind for n in played([], killed=False)} == set(NoticeKind) - {NoticeKind.TEST}


def test_what_is_kept_is_bounded_by_what_is_open() -> None:
    told = Told(boats=6, everybody=people())
    for day in range(200):
        told.event(day * 1440, OPENED, "bilge/bilge", ALARM, water=True)
        told.event(day * 1440 + 30, SEEN, "bilge/bilge", ALARM, actor="Anna")
        told.event(day * 1440 + 60, ENDED, "bilge/bilge", ALARM)
        told.clock(day * 1440 + 100)
        if day == 20:
            early = len(told.kept or "")
    assert len(told.kept or "") == early
