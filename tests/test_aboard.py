"""What is done aboard: alerts are put aside for it, it ends by itself, and the bilges are held against its start."""

import random
from dataclasses import asdict, replace
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from boats import HOUR, LAID_UP_MS, MINUTE, boat

from monitor.fleet import CommandError, Fleet, NothingStored
from monitor.messages.words import put_into_words
from monitor.model.alert import Alert, AlertChange, AlertEvent
from monitor.model.inputs import (
    Aboard,
    Acknowledge,
    BringBack,
    Clock,
    Confirm,
    EndSuppression,
    Input,
    RecordVersion,
    Shelve,
    Suppress,
    TakeOut,
    VisitReport,
)
from monitor.model.reading import Reading
from monitor.model.scale import AlertState
from monitor.model.visit import Found, VisitNote
from monitor.snapshot import read_snapshot, write_snapshot
from monitor.watch import Watch

WHO = "R. Invented"
LEVELS = {"bilge-level": 0.010, "bilge-float": 0.0, "house-volts": 12.7, "outside": 6.0, "engine-space": 6.0}


def at(hours: float) -> int:
    return LAID_UP_MS + round(hours * HOUR)


def reading(sensor: str, hour: float, value: float) -> Reading:
    return Reading("tern", sensor, at(hour), at(hour), at(hour), value)


class Tern:
    """A boat that is heard each ten minutes."""

    def __init__(self) -> None:
        sensors = [s.model_dump() | {"interval_s": 600} for s in boat().sensors]
        self.record = boat(sensors=sensors)
        self.watch = Watch(self.record, LAID_UP_MS)
        self.events: list[AlertEvent] = []
        self.hour = 0.0

    def live(self, until: float, **values: float) -> "Tern":
        """Go on to an hour; what is not named says what it always says."""
        said = LEVELS | {name.replace("_", "-"): value for name, value in values.items()}
        while self.hour < until - 1e-9:
            self.hour += 1 / 6
            self.take(Clock(at(self.hour)))
            for sensor, value in said.items():
                self.take(reading(sensor, self.hour, value))
        return self

    def take(self, item: Input) -> list[AlertEvent]:
        events = self.watch.fold(item).events
        self.events += events
        return events

    def alert(self, rule: str = "bilge", subject: str = "bilge") -> Alert:
        (found,) = [a for a in self.watch.open_alerts() if (a.rule, a.subject) == (rule, subject)]
        return found

    def suppress(self, until: float, reason: Aboard = Aboard.WASH_DOWN) -> None:
        self.take(Suppress("tern", at(self.hour), WHO, reason, at(until), "hose in the cockpit"))

    def kinds(self) -> list[tuple[str, str, AlertState]]:
        return [(a.rule, a.finding.kind, a.state) for a in self.watch.open_alerts() if a.rule != "silence"]


def frozen() -> Tern:
    """A boat whose cooling stands under its freezing point, and is told of."""
    return Tern().live(24).live(26, engine_space=-22.0)


def test_what_stands_is_put_aside_and_comes_back_after_it_by_itself() -> None:
    tern = frozen()
    assert ("frost", "margin", AlertState.UNACKNOWLEDGED) in tern.kinds()
    tern.suppress(until=27.5)
    alert = tern.alert("frost", "closed-cooling")
    assert (alert.state, alert.aside_by, alert.aside_why) == (AlertState.SUPPRESSED, WHO, "wash-down")
    tern.live(29, engine_space=-22.0)
    mine = [e for e in tern.events if e.alert == alert.id]
    assert [(e.change, e.at_ms, e.actor) for e in mine[1:]] == [
        (AlertChange.SUPPRESSED, at(26), WHO),
        (AlertChange.BACK, at(27.5), "watch"),
    ]
    assert tern.watch.state.suppression is None


def test_after_it_nobody_has_what_nobody_has_seen_since() -> None:
    tern = frozen()
    alert = tern.alert("frost", "closed-cooling")
    tern.take(Acknowledge("tern", alert.id, at(26), WHO))
    tern.suppress(until=28)
    assert alert.has_it == WHO
    tern.take(EndSuppression("tern", at(26), WHO))
    assert (alert.state, alert.has_it, alert.acknowledged_by) == (AlertState.UNACKNOWLEDGED, None, None)


def test_in_a_quiet_night_it_ends_at_its_minute_all_the_same() -> None:
    tern = frozen()
    tern.suppress(until=27.5)
    tern.take(Clock(at(60)))  # nothing was heard for a day
    assert [e.at_ms for e in tern.events if e.change is AlertChange.BACK] == [at(27.5)]


def test_what_opens_meanwhile_opens_put_aside_and_ends_where_it_has_cleared() -> None:
    tern = Tern().live(24)
    tern.suppress(until=28)
    tern.live(25.5, house_volts=0.0).live(27.5)
    (alert,) = [a for a in tern.watch.open_alerts() if a.rule == "battery"]
    assert alert.state is AlertState.SUPPRESSED
    tern.live(29)
    assert [(e.change, e.state) for e in tern.events if e.alert == alert.id] == [
        (AlertChange.OPENED, AlertState.SUPPRESSED),
        (AlertChange.RETURNED, AlertState.SUPPRESSED),
        (AlertChange.ENDED, AlertState.NORMAL),
    ]


@pytest.mark.parametrize("reason", list(Aboard))
def test_a_float_and_high_water_are_never_put_aside(reason: Aboard) -> None:
    tern = Tern().live(24)
    tern.suppress(until=28, reason=reason)
    tern.take(reading("bilge-float", tern.hour + 0.01, 1.0))
    assert tern.kinds() == [("bilge", "float", AlertState.UNACKNOWLEDGED)]
    other = Tern().live(24)
    other.suppress(until=28, reason=reason)
    other.take(reading("bilge-level", other.hour + 0.01, 0.12))
    assert {state for _, _, state in other.kinds()} == {AlertState.UNACKNOWLEDGED}
    assert other.kinds()


def put_aside(tern: Tern, how: str) -> int:
    """Put the bilge's alert aside at hour 26, and say how many events there were."""
    alert, until = tern.alert().id, at(26) + 11 * HOUR
    known = (
        Shelve("tern", alert, at(26), WHO, "known", until)
        if how == "shelved"
        else TakeOut("tern", alert, at(26), WHO, "float sticks")
    )
    assert tern.take(known)
    return len(tern.events)


@pytest.mark.parametrize("how", ["shelved", "taken out"])
def test_a_flood_after_one_that_was_known_and_went_is_told(how: str) -> None:
    tern = Tern().live(24).live(26, bilge_float=1.0)
    put_aside(tern, how)
    tern.live(29)
    before = len(tern.events)
    tern.live(30, bilge_float=1.0, bilge_level=0.3)
    assert [e.change for e in tern.events[before:]][:2] == [AlertChange.REOPENED, AlertChange.BACK]
    assert tern.alert().state is AlertState.UNACKNOWLEDGED


@pytest.mark.parametrize("how", ["shelved", "taken out"])
def test_a_level_at_its_high_mark_is_told_where_a_float_that_sticks_was_put_aside(how: str) -> None:
    tern = Tern().live(24).live(26, bilge_float=1.0)
    before = put_aside(tern, how)
    tern.live(28, bilge_float=1.0)
    assert tern.events[before:] == []
    tern.live(29, bilge_float=1.0, bilge_level=0.35)
    assert [e.change for e in tern.events[before:]] == [AlertChange.BACK]
    assert tern.alert().state is AlertState.UNACKNOWLEDGED


def test_a_frost_that_was_cleared_under_it_still_wants_somebody_aboard() -> None:
    tern = frozen()
    tern.suppress(until=30)
    alert = tern.alert("frost", "closed-cooling")
    assert alert.latching
    tern.live(30, engine_space=-22.0).live(30 + 24 * 6)
    tern.take(Confirm("tern", alert.id, at(tern.hour), WHO, "no split, pump turns"))
    states = [e.state for e in tern.events if e.alert == alert.id and e.change is not AlertChange.PRIORITY]
    assert states == [
        AlertState.UNACKNOWLEDGED,
        AlertState.SUPPRESSED,
        AlertState.UNACKNOWLEDGED,
        AlertState.LATCHED,
        AlertState.NORMAL,
        AlertState.NORMAL,
    ]


def test_another_word_prolongs_it_and_a_word_ends_it() -> None:
    tern = frozen()
    tern.suppress(until=27)
    tern.suppress(until=29)
    tern.live(28, engine_space=-22.0)
    assert tern.alert("frost", "closed-cooling").state is AlertState.SUPPRESSED
    (back,) = tern.take(EndSuppression("tern", at(28), WHO))
    assert (back.change, back.actor) == (AlertChange.BACK, WHO)


# --- Water left behind: 20 mm above the start is told, 10 mm is well again (both invented).


def washed(level: float, then: float | None = None) -> Tern:
    tern = Tern().live(24)
    tern.suppress(until=25)
    return tern.live(25, bilge_level=level).live(27, bilge_level=level if then is None else then)


@pytest.mark.parametrize(("risen_mm", "told"), [(-5, False), (0, False), (19, False), (21, True), (60, True)])
def test_a_level_that_stands_above_its_start_is_told(risen_mm: int, told: bool) -> None:
    tern = washed(LEVELS["bilge-level"] + risen_mm / 1000)
    mine = [a for a in tern.watch.open_alerts() if a.finding.kind == "risen aboard"]
    assert [a.subject for a in mine] == (["bilge"] if told else [])
    if told:
        (finding,) = [a.finding for a in mine]
        assert finding.figure.value == risen_mm
        words = put_into_words(finding, tern.record, ZoneInfo("UTC"), at(27), strict=True)
        assert words.title == "Bilge: more water than before somebody was aboard"
    else:
        assert tern.watch.state.levels_before == {}


def test_water_that_is_only_heard_after_the_end_is_told_too() -> None:
    tern = Tern().live(24)
    tern.suppress(until=24.9)
    tern.live(24 + 5 / 6)  # the last level heard before its end
    tern.take(Clock(at(24.95)))
    assert tern.watch.state.suppression is None
    assert [e for e in tern.events if e.at_ms >= at(24)] == []
    tern.live(25.5, bilge_level=0.035)
    assert tern.alert("watch").finding.kind == "risen aboard"


def test_it_clears_and_latches_once_the_level_is_back_and_ends_once_somebody_has_looked() -> None:
    tern = washed(0.035)
    alert = tern.alert("watch")
    tern.live(28, bilge_level=0.025)
    assert alert.returned_ms is None  # 15 mm above its start still
    tern.live(29, bilge_level=0.019)
    tern.take(Confirm("tern", alert.id, at(29), WHO, "pumped out"))
    assert [e.change for e in tern.events if e.alert == alert.id] == [
        AlertChange.OPENED,
        AlertChange.LATCHED,
        AlertChange.CONFIRMED,
        AlertChange.ENDED,
    ]


def test_it_ends_once_somebody_has_looked_though_the_water_stands() -> None:
    tern = washed(0.035)
    alert = tern.alert("watch")
    events = tern.take(Confirm("tern", alert.id, at(27), WHO, "wash water"))
    assert [e.change for e in events] == [AlertChange.CONFIRMED, AlertChange.ENDED]
    tern.live(40, bilge_level=0.035)
    assert [a.rule for a in tern.watch.open_alerts() if a.rule == "watch"] == []


def test_one_that_follows_on_another_goes_by_the_first_start() -> None:
    tern = Tern().live(24)
    tern.suppress(until=26)
    tern.live(25, bilge_level=0.025)
    tern.suppress(until=27)
    tern.live(27.5, bilge_level=0.035)
    assert tern.alert("watch").finding.facts["before_mm"] == 10


def test_a_bilge_that_left_the_record_is_held_against_nothing() -> None:
    tern = washed(0.035)
    tern.take(RecordVersion(tern.record.model_copy(update={"bilges": ()}), at(27), "test"))
    assert tern.watch.state.levels_before == {}
    tern.live(28, bilge_level=0.035)
    assert tern.alert("watch").state is AlertState.LATCHED


# --- Shelves


def test_a_shelf_ends_by_itself_at_its_minute() -> None:
    tern = frozen()
    alert = tern.alert("frost", "closed-cooling")
    tern.take(Shelve("tern", alert.id, at(26), WHO, "heater is on its way", at(31.2)))
    tern.take(Clock(at(50)))
    assert [(e.change, e.at_ms) for e in tern.events if e.alert == alert.id][-2:] == [
        (AlertChange.SHELVED, at(26)),
        (AlertChange.BACK, at(31.2)),
    ]


@pytest.mark.parametrize("how", ["shelved", "out of service"])
def test_a_level_that_is_put_aside_does_not_silence_the_float_of_that_bilge(how: str) -> None:
    tern = Tern().live(24)
    for step in range(1, 30):
        tern.live(24 + step, bilge_level=min(0.010 + 0.002 * step, 0.058))
    alert = tern.alert()
    assert not alert.finding.always_told
    makes: dict[str, Input] = {
        "shelved": Shelve("tern", alert.id, at(tern.hour), WHO, "sensor drifts", at(tern.hour + 9)),
        "out of service": TakeOut("tern", alert.id, at(tern.hour), WHO, "sensor drifts"),
    }
    tern.take(makes[how])
    assert tern.alert().state.value == how
    tern.take(Clock(at(tern.hour + 0.1)))
    tern.take(reading("bilge-float", tern.hour + 0.1, 1.0))
    (same,) = [a for a in tern.watch.open_alerts() if a.rule == "bilge"]
    assert (same.id, same.finding.kind, same.state) == (alert.id, "float", AlertState.UNACKNOWLEDGED)


def test_commands_move_no_clock() -> None:
    tern = frozen()
    now_ms = tern.watch.state.now_ms
    tern.take(Suppress("tern", at(40), WHO, Aboard.LIFT, at(41)))
    tern.take(VisitReport("tern", at(40), WHO, VisitNote(Found.WELL)))
    assert tern.watch.state.now_ms == now_ms


# --- Through the fleet, and killed anywhere


def fleet_of_one() -> Fleet:
    fleet = Fleet(NothingStored())
    fleet.command(RecordVersion(boat(), LAID_UP_MS, "test"))
    fleet.clock(at(24))
    return fleet


@pytest.mark.parametrize(
    ("command", "words"),
    [
        (Suppress("gull", at(24), WHO, Aboard.LIFT, at(25)), "no vessel 'gull' in this yard"),
        (Suppress("tern", at(24), "", Aboard.LIFT, at(25)), "nobody is named who does it: give a name"),
        (Suppress("tern", at(24), WHO, Aboard.LIFT, at(24)), "is past: name one to come"),
        (Suppress("tern", at(24), WHO, Aboard.LIFT, at(28.1)), "it may be put aside for 4 hours at most, not 4.1"),
        (EndSuppression("tern", at(24), WHO), "nothing is said to be done aboard now"),
        (BringBack("tern", "no-such", at(24), WHO), "no open alert 'no-such' on tern: it has ended, or never was"),
        (VisitReport("tern", at(24), "", VisitNote(Found.WELL)), "nobody is named who was aboard: give a name"),
        (VisitReport("tern", at(-24), WHO, VisitNote(Found.WELL)), "before her lay-up: put its time right"),
    ],
)
def test_the_fleet_refuses_in_words_and_changes_nothing(command: Any, words: str) -> None:
    fleet = fleet_of_one()
    fleet.hand_over()
    with pytest.raises(CommandError, match=words):
        fleet.command(command)
    assert fleet.hand_over().is_empty


def test_what_is_accepted_is_an_input_with_its_place() -> None:
    fleet = fleet_of_one()
    seq = fleet.hand_over().last_seq
    visit = VisitReport("tern", at(24), WHO, VisitNote(Found.WELL))
    fleet.command(visit)
    fleet.command(Suppress("tern", at(24), WHO, Aboard.PEOPLE, at(28)))
    assert [(s, type(i)) for s, i in fleet.hand_over().inputs] == [(seq + 1, VisitReport), (seq + 2, Suppress)]


def script(seed: int) -> list[Input]:
    """Three days of hourly packs with frost, water, and people who do all there is to do."""
    source = random.Random(seed)
    items: list[Input] = []
    for hour in range(1, 72):
        items.append(Clock(at(hour)))
        level = 0.012 + (0.03 if 20 < hour % 36 < 30 else 0.0) + source.gauss(0, 0.001)
        degc = -24.0 if 30 < hour < 40 else 5.0
        said = {"bilge-level": level, "bilge-float": float(hour == 50), "engine-space": degc, "outside": degc}
        items += [reading(sensor, hour, value) for sensor, value in said.items()]
        if source.random() < 0.2:
            items.append(
                Suppress("tern", at(hour), WHO, source.choice(list(Aboard)), at(hour + source.uniform(0.2, 4)))
            )
        if source.random() < 0.1:
            items.append(EndSuppression("tern", at(hour), WHO))
        if source.random() < 0.1:
            items.append(VisitReport("tern", at(hour), WHO, VisitNote(Found.WELL)))
    return items


@pytest.mark.parametrize("seed", range(6))
def test_killed_anywhere_it_comes_back_to_the_same_events(seed: int) -> None:
    def people(watch: Watch, source: random.Random) -> list[Input]:
        alerts = watch.open_alerts()
        if not alerts or source.random() < 0.9:
            return []
        alert, now = source.choice(alerts).id, watch.state.now_ms
        makes = (
            Acknowledge("tern", alert, now, WHO),
            Confirm("tern", alert, now, WHO, "looked"),
            Shelve("tern", alert, now, WHO, "why", now + source.randrange(1, 9) * HOUR + MINUTE // 2),
            BringBack("tern", alert, now, WHO),
        )
        return [source.choice(makes)]

    def run(kill: float) -> list[dict[str, Any]]:
        watch, source, deaths = Watch(boat(), LAID_UP_MS), random.Random(seed), random.Random(seed + 1)
        events: list[AlertEvent] = []
        for item in script(seed):
            if deaths.random() < kill:
                again = Watch(boat(), LAID_UP_MS)
                assert read_snapshot(again, write_snapshot(watch)) == ()
                watch = again
            for one in (item, *people(watch, source)):
                events += watch.fold(replace(one)).events
        return [asdict(event) for event in events]

    unbroken = run(kill=0.0)
    changes = {event["change"] for event in unbroken}
    assert {AlertChange.OPENED, AlertChange.SUPPRESSED} <= changes
    assert run(kill=0.3) == unbroken
