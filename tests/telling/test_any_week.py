"""Whatever happens in a week, where batches are cut and the agent is killed changes nothing of what is told."""

import random
from itertools import pairwise

import pytest
from telling.test_fleet_events import joined, week_yard

from monitor.model.alert import AlertChange
from monitor.model.batch import Batch
from monitor.model.notice import Notice
from monitor.model.scale import AlertState, Priority
from monitor.telling.firing import due_ms
from monitor.telling.index import Index
from monitor.telling.keeping import read_state
from monitor.telling.scene import Scene
from monitor.telling.written import Written

C, S = AlertChange, AlertState
WHATS = ("frost/heads", "bilge/bilge", "silence/gateway", "damp/cabin", "power/shore-power")
NAMES = ("Anna", "Ben", "Carl", "Somebody Else")
_ASIDE = ((C.BACK, None), (C.ENDED, None), (C.ACCEPTED, "same"))
_NEXT: dict[AlertState, tuple[tuple[AlertChange, AlertState | str | None], ...]] = {
    S.UNACKNOWLEDGED: (
        (C.ACKNOWLEDGED, None),
        (C.ACKNOWLEDGED, None),
        (C.HANDED_OVER, None),
        (C.ACCEPTED, None),
        (C.RETURNED, None),
        (C.LATCHED, None),
        (C.SHELVED, None),
        (C.SUPPRESSED, None),
        (C.PRIORITY, None),
    ),
    S.ACKNOWLEDGED: (
        (C.ENDED, None),
        (C.HANDED_OVER, None),
        (C.ACCEPTED, None),
        (C.SHELVED, None),
        (C.OUT_OF_SERVICE, None),
        (C.PRIORITY, None),
    ),
    S.RETURNED_UNACKNOWLEDGED: ((C.REOPENED, None), (C.ENDED, None)),
    S.LATCHED: ((C.REOPENED, None), (C.HANDED_OVER, None), (C.ENDED, None)),
    S.SHELVED: _ASIDE,
    S.SUPPRESSED: _ASIDE,
    S.OUT_OF_SERVICE: _ASIDE,
}


def any_week(seed: int) -> list[Batch]:
    """Make a week of events at random, each in a batch of its own; some stand at one time."""
    source, told, at_min = random.Random(seed), week_yard(), 0.0
    told.clock(0)
    while len(told.fed) < 150:
        at_min += source.choice((0, 0, 0.05, 1, 1, 7, 12, 45, 200))
        if source.random() < 0.2:
            told.clock(at_min)
            continue
        boat, what = f"boat-{source.randint(1, 6)}", source.choice(WHATS)
        alert = told.alerts.get(f"{boat}/{what}")
        more = {"vessel": boat, "water": what.startswith("bilge"), "actor": source.choice(NAMES)}
        harm_h = source.choice((None, 1, 5, 40))
        if alert is None:
            told.event(at_min, C.OPENED, what, source.choice(tuple(Priority)), harm_h=harm_h, **more)
            continue
        change, then = source.choice(_NEXT[alert.state])
        state = alert.state if then == "same" else None
        priority = source.choice(tuple(Priority)) if change is C.PRIORITY else alert.priority
        to = source.choice((*NAMES, "Owner 2")) if change is C.HANDED_OVER else ""
        until = at_min + 60 if change in {C.SHELVED, C.SUPPRESSED} else None
        told.event(at_min, change, what, priority, harm_h=harm_h, state=state, to=to, until_min=until, **more)
    told.clock(at_min + 3000)
    return told.fed


def play(week: list[Batch], cuts: list[int], *, killed: bool) -> tuple[list[Notice], list[object]]:
    told = week_yard()
    for begin, end in pairwise([0, *cuts, len(week)]):
        told.feed(joined(week[begin:end]))
        if killed:
            told.telling = told.made(told.kept)
    return told.notices, sorted(repr(call) for call in told.calls.values())


@pytest.mark.parametrize("seed", range(12))
def test_cut_anywhere_and_killed_anywhere_it_is_told_the_same(seed: int) -> None:
    week, source = any_week(seed), random.Random(-seed - 1)
    notices, calls = play(week, list(range(1, len(week))), killed=False)
    assert len(notices) > 10
    assert len({n.id for n in notices}) == len(notices)
    for _ in range(3):
        cuts = sorted(source.sample(range(1, len(week)), source.randint(0, 40)))
        for killed in (False, True):
            assert play(week, cuts, killed=killed) == (notices, calls)
    assert play(week, list(range(1, len(week))), killed=True) == (notices, calls)


@pytest.mark.parametrize("seed", range(4))
def test_what_is_counted_and_when_it_is_due_is_what_a_look_through_all_of_it_says(seed: int) -> None:
    told = week_yard()
    for batch in any_week(seed):
        told.feed(batch)
        index, timers = told.telling._index, told.telling._timers
        anew = Index(index.state)
        if batch.telling is not None:
            assert read_state(batch.telling) == index.state
        scene = Scene(index, timers, told.roster, told.ladder, "UTC", told.record, Written(frozenset()), {})
        for call in index.state.calls.values():
            assert index.tally(call) == anew.tally(call)
            due = due_ms(scene, call)
            bound = timers._bounds.get(call.id)
            assert due is None or (bound is not None and bound <= due)
        assert {a.id for a in index.state.alerts.values() if a.call} == {
            a.id for call in index.state.calls.values() for a in index.members(call)
        } | {a.id for a in index.state.alerts.values() if a.call and a.call not in index.state.calls}
