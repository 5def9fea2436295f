"""The watch over one vessel: when rules are given what, and when they are judged."""

from dataclasses import dataclass, field, replace
from typing import ClassVar

from boats import HOUR, LAID_UP_MS, MINUTE, boat

from monitor.model.alert import AlertChange
from monitor.model.finding import Figure, Finding
from monitor.model.inputs import Clock, RecordVersion, Shelve, VisitReport
from monitor.model.reading import Reading
from monitor.model.scale import AlertState, Flag, Priority, Sure
from monitor.model.vessel import Vessel
from monitor.model.visit import Found, VisitNote
from monitor.rules.rule import Limits, Rule
from monitor.watch import Watch

START = LAID_UP_MS


@dataclass(slots=True)
class Notes:
    """What the scripted rule was given, and what it is to say."""

    seen: list[tuple[str, int, float, Flag]] = field(default_factory=list)
    late: list[tuple[str, int, float]] = field(default_factory=list)
    judged: list[int] = field(default_factory=list)
    cold: bool = False


class Scripted(Rule[Notes]):
    """Says a warning while its last temperature is below zero, and looks again when told to."""

    name = "scripted"
    version = 1
    state_type = Notes
    limits: ClassVar[Limits] = Limits()
    look_ms: ClassVar[int | None] = None
    sure: ClassVar[Sure] = Sure.LIKELY

    def __init__(self, record: Vessel) -> None:
        super().__init__(record)
        self.sensors = frozenset(s.id for s in record.sensors)

    def see(self, state: Notes, reading: Reading) -> None:
        state.seen.append((reading.sensor, reading.event_ms, reading.value, reading.flag))
        if reading.sensor == "engine-space":
            state.cold = reading.value < 0

    def see_late(self, state: Notes, reading: Reading) -> None:
        state.late.append((reading.sensor, reading.event_ms, reading.value))

    def judge(self, state: Notes, now_ms: int) -> list[Finding]:
        state.judged.append(now_ms)
        if not state.cold:
            return []
        figure = Figure(-1.0, 0.0, "degC")
        return [Finding("scripted", "pipe", "cold", Priority.WARNING, figure, None, self.sure, (), (), ())]

    def next_look(self, state: Notes, now_ms: int) -> int | None:  # noqa: ARG002 - scripted
        return self.look_ms if self.look_ms is not None and self.look_ms > now_ms else None


class HearsAll(Scripted):
    name = "scripted"
    hears_all = True


class HearsAtOnce(HearsAll):
    hears_at_once = True


def watching(rule: type[Scripted] = Scripted) -> tuple[Watch, Notes]:
    watch = Watch(boat(), START, (rule,))
    return watch, watch.state.rules["scripted"]


def read(sensor: str, at_ms: int, value: float, **more: bool) -> Reading:
    return Reading("tern", sensor, at_ms, at_ms, at_ms, value, **more)


def test_a_rule_is_judged_at_the_first_whole_minute_after_a_reading() -> None:
    watch, notes = watching()
    watch.fold(Clock(START))
    notes.judged.clear()
    watch.fold(read("engine-space", START + 10_500, 4.0))
    assert notes.judged == []
    watch.fold(read("engine-space", START + MINUTE, 4.0))
    assert notes.judged == []  # the tick of a minute waits for the first input past it
    watch.fold(read("engine-space", START + MINUTE + 1, 4.0))
    assert notes.judged == [START + MINUTE]


def test_minutes_at_which_nothing_can_change_are_skipped() -> None:
    watch, notes = watching()
    watch.fold(read("engine-space", START + 1, 4.0))
    watch.fold(Clock(START + 10 * HOUR))
    assert notes.judged == [START + MINUTE]


def test_a_rule_is_judged_again_when_it_asked_to_be() -> None:
    class Looks(Scripted):
        look_ms = START + 5 * HOUR + 1

    watch, notes = watching(Looks)
    watch.fold(Clock(START + 10 * HOUR))
    assert notes.judged[-1] == START + 5 * HOUR + MINUTE


def test_a_switch_is_judged_at_once() -> None:
    watch, notes = watching()
    at = START + 10_500
    watch.fold(read("bilge-float", at, 1.0))
    assert notes.judged[-1] == at


def test_a_level_at_its_high_mark_is_given_at_once_and_judged_at_once() -> None:
    watch, notes = watching(HearsAll)
    at = START + 10_500
    watch.fold(read("bilge-level", at, 0.11))
    assert notes.seen == [("bilge-level", at, 0.11, Flag.NOT_EVALUATED)]
    assert notes.judged[-1] == at


def test_a_level_that_jumps_below_its_high_mark_waits_for_its_neighbour() -> None:
    watch, notes = watching()
    watch.fold(read("bilge-level", START + 1, 0.02))
    assert notes.seen == []
    outcome = watch.fold(read("bilge-level", START + HOUR, 0.02))
    assert notes.seen == [("bilge-level", START + at, 0.02, Flag.PASS) for at in (1, HOUR)]
    assert [r.stated_ms for r in outcome.settled] == [START + 1]  # the other one was never stored as waiting
    watch.fold(read("bilge-level", START + 2 * HOUR, 0.09))
    assert len(notes.seen) == 2
    watch.fold(read("bilge-level", START + 3 * HOUR, 0.09))
    assert [at - START for _, at, _, _ in notes.seen[2:]] == [2 * HOUR, 3 * HOUR]


def test_a_rule_that_hears_at_once_is_given_a_level_before_and_after_it_has_settled() -> None:
    watch, notes = watching(HearsAtOnce)
    watch.fold(read("bilge-level", START + 1, 0.02))
    watch.fold(read("bilge-level", START + HOUR, 0.09))
    assert [(at - START, flag) for _, at, _, flag in notes.seen] == [
        (1, Flag.NOT_EVALUATED),
        (HOUR, Flag.NOT_EVALUATED),
        (1, Flag.PASS),
    ]


def test_a_rule_is_not_given_what_cannot_be_believed_unless_it_hears_all() -> None:
    watch, notes = watching()
    watch.fold(read("engine-space", START + 1, 200.0))
    assert notes.seen == []
    watch, notes = watching(HearsAll)
    watch.fold(read("engine-space", START + 1, 200.0))
    assert notes.seen[0][3] is Flag.FAIL


def test_a_reading_behind_its_sensors_newest_is_late_and_moves_nothing() -> None:
    watch, notes = watching()
    watch.fold(read("engine-space", START + 2 * HOUR, 4.0))
    late = read("engine-space", START + HOUR, -3.0)
    watch.fold(late)
    assert late.late
    assert notes.late == [("engine-space", START + HOUR, -3.0)]
    assert watch.state.now_ms == START + 2 * HOUR


def test_readings_of_different_sensors_may_come_in_any_order() -> None:
    watch, notes = watching()
    watch.fold(read("engine-space", START + 2 * HOUR, 4.0))
    other = read("outside", START + HOUR, 3.0)
    watch.fold(other)
    assert not other.late
    assert len(notes.seen) == 2


def test_what_is_not_news_is_given_to_no_rule() -> None:
    watch, notes = watching()
    watch.fold(read("engine-space", START + 1, -3.0, news=False))
    assert (notes.seen, watch.state.newest) == ([], {})


def test_an_alert_opens_from_a_finding_and_returns_when_it_is_gone() -> None:
    watch, _ = watching()
    watch.fold(read("engine-space", START + 1, -3.0))
    opened = watch.fold(Clock(START + HOUR))
    assert [e.at_ms for e in opened.events] == [START + MINUTE]
    watch.fold(read("engine-space", START + 2 * HOUR, 3.0))
    watch.fold(Clock(START + 3 * HOUR))
    (alert,) = watch.open_alerts()
    assert alert.state is AlertState.RETURNED_UNACKNOWLEDGED


def test_no_data_opens_no_alert_and_clears_none() -> None:
    class Doubts(Scripted):
        pass

    watch, _ = watching(Doubts)
    watch.fold(read("engine-space", START + 1, -3.0))
    watch.fold(Clock(START + HOUR))
    Doubts.sure = Sure.NOT_KNOWN
    watch.fold(read("engine-space", START + 2 * HOUR, -3.0))
    watch.fold(Clock(START + 9 * HOUR))
    (alert,) = watch.open_alerts()
    assert alert.state is AlertState.UNACKNOWLEDGED
    assert [f.subject for f in watch.state.unknown["scripted"]] == ["pipe"]


def test_a_new_version_of_the_record_is_judged_and_keeps_what_was_seen() -> None:
    watch, notes = watching()
    watch.fold(read("engine-space", START + 1, -3.0))
    watch.fold(Clock(START + HOUR))
    judged = len(notes.judged)
    watch.fold(RecordVersion(boat(name="Tern II"), START + 2 * HOUR, "test"))
    watch.fold(Clock(START + 3 * HOUR))
    assert watch.record.name == "Tern II"
    assert len(notes.judged) == judged + 1
    assert len(watch.open_alerts()) == 1


def test_a_sensor_that_left_the_record_is_no_longer_listened_to() -> None:
    watch, notes = watching()
    sensors = [s.model_dump() for s in boat().sensors if s.id != "house-volts"]
    batteries = [b.model_copy(update={"voltage_sensor": None}).model_dump() for b in boat().batteries]
    watch.fold(RecordVersion(boat(sensors=sensors, batteries=batteries), START + HOUR, "test"))
    watch.fold(read("house-volts", START + 2 * HOUR, 12.5))
    assert notes.seen == []


def test_a_rule_that_fails_leaves_the_others_watching_and_says_so() -> None:
    class Fails(Scripted):
        name = "fails"

        def see(self, state: Notes, reading: Reading) -> None:
            if reading.value > 4:
                raise ValueError("too hot to handle")
            super().see(state, reading)

    watch = Watch(boat(), START, (Fails, Scripted))
    watch.fold(read("engine-space", START + 1, 5.0))
    watch.fold(read("engine-space", START + HOUR, -3.0))
    watch.fold(Clock(START + 2 * HOUR))
    told = {(a.rule, a.subject, a.finding.kind) for a in watch.open_alerts()}
    assert told == {("watch", "fails", "stumbled"), ("fails", "pipe", "cold"), ("scripted", "pipe", "cold")}
    (own,) = [a for a in watch.open_alerts() if a.rule == "watch"]
    assert "too hot to handle" in str(own.finding.facts["what"])
    watch.fold(Clock(START + 26 * HOUR))
    assert own.state is AlertState.RETURNED_UNACKNOWLEDGED


def test_a_rule_that_cannot_judge_keeps_its_alerts_as_they_were() -> None:
    class Fails(Scripted):
        broken: ClassVar[bool] = False

        def judge(self, state: Notes, now_ms: int) -> list[Finding]:
            if self.broken:
                raise ZeroDivisionError("invented")
            return super().judge(state, now_ms)

    watch, _ = watching(Fails)
    watch.fold(read("engine-space", START + 1, -3.0))
    watch.fold(Clock(START + HOUR))
    Fails.broken = True
    watch.fold(read("engine-space", START + 2 * HOUR, 3.0))
    watch.fold(Clock(START + 3 * HOUR))
    assert {(a.rule, a.state) for a in watch.open_alerts()} == {
        ("scripted", AlertState.UNACKNOWLEDGED),
        ("watch", AlertState.UNACKNOWLEDGED),
    }


def test_a_float_that_goes_up_by_a_clock_that_was_set_back_is_told_at_once() -> None:
    watch, notes = watching()
    watch.fold(read("bilge-float", START + HOUR, 0.0))
    behind = Reading("tern", "bilge-float", START + 5 * MINUTE, START + 5 * MINUTE, START + 6 * MINUTE, 1.0)
    watch.fold(behind)
    assert not behind.late
    assert notes.seen[-1][2] == 1.0
    assert notes.judged[-1] == START + HOUR


def test_a_float_that_was_up_long_ago_is_late() -> None:
    watch, notes = watching()
    watch.fold(read("bilge-float", START + 9 * HOUR, 0.0))
    old = Reading("tern", "bilge-float", START + HOUR, START + HOUR, START + 9 * HOUR, 1.0)
    watch.fold(old)
    assert old.late
    assert notes.late == [("bilge-float", START + HOUR, 1.0)]


def test_a_backlog_behind_the_ticks_is_also_judged_as_late() -> None:
    watch, notes = watching()
    watch.fold(Clock(START + 6 * HOUR))
    for hour in range(1, 6):
        watch.fold(read("engine-space", START + hour * HOUR, -3.0))
    assert len(notes.seen) == 5
    assert [at for _, at, _ in notes.late] == [START + hour * HOUR for hour in range(1, 6)]


def test_a_record_moves_no_clock() -> None:
    watch, _ = watching()
    watch.fold(RecordVersion(boat(), START + 10 * HOUR, "test"))
    assert watch.state.now_ms == START


def test_a_finding_takes_its_consequences_under_it_and_lets_them_go_again() -> None:
    class Power(Scripted):
        name = "power"

        def judge(self, state: Notes, now_ms: int) -> list[Finding]:
            return [replace(f, rule="power", covers=("scripted/pipe",)) for f in super().judge(state, now_ms)]

        def see(self, state: Notes, reading: Reading) -> None:
            state.cold = state.cold if reading.sensor == "engine-space" else reading.value < 0

    watch = Watch(boat(), START, (Power, Scripted))
    watch.fold(read("outside", START + 1, -3.0))
    watch.fold(Clock(START + HOUR))
    watch.fold(read("engine-space", START + 2 * HOUR, -3.0))
    watch.fold(Clock(START + 3 * HOUR))
    assert [a.rule for a in watch.open_alerts()] == ["power"]
    watch.fold(read("outside", START + 4 * HOUR, 3.0))
    watch.fold(Clock(START + 5 * HOUR))
    assert {(a.rule, a.returned_ms is None) for a in watch.open_alerts()} == {("power", False), ("scripted", True)}


def test_a_consequence_that_is_worse_than_its_cover_is_told() -> None:
    class Power(Scripted):
        name = "power"

        def judge(self, state: Notes, now_ms: int) -> list[Finding]:
            found = super().judge(state, now_ms)
            return [replace(f, rule="power", priority=Priority.CAUTION, covers=("scripted/pipe",)) for f in found]

    watch = Watch(boat(), START, (Power, Scripted))
    watch.fold(read("engine-space", START + 1, -3.0))
    watch.fold(Clock(START + HOUR))
    assert [(a.rule, a.priority) for a in watch.open_alerts()] == [
        ("power", Priority.CAUTION),
        ("scripted", Priority.WARNING),
    ]


def test_a_visit_that_is_reported_is_told_to_every_rule_and_has_them_judged() -> None:
    class Hears(Scripted):
        def visited(self, state: Notes, at_ms: int, visit: VisitNote) -> None:
            state.late.append((visit.found.value, at_ms, 0.0))

    watch, notes = watching(Hears)
    watch.fold(Clock(START + HOUR))
    judged = len(notes.judged)
    watch.fold(VisitReport("tern", START + HOUR, "R. Invented", VisitNote(Found.WELL)))
    watch.fold(Clock(START + 2 * HOUR))
    assert notes.late == [("well", START + HOUR, 0.0)]
    assert len(notes.judged) == judged + 1


def test_a_rule_that_fails_at_a_visit_leaves_the_others_watching() -> None:
    class Fails(Scripted):
        name = "fails"

        def visited(self, state: Notes, at_ms: int, visit: VisitNote) -> None:  # noqa: ARG002 - it fails
            raise ZeroDivisionError("invented")

    watch = Watch(boat(), START, (Fails, Scripted))
    watch.fold(VisitReport("tern", START + HOUR, "R. Invented", VisitNote(Found.WELL)))
    watch.fold(Clock(START + 2 * HOUR))
    assert [(a.rule, a.subject) for a in watch.open_alerts()] == [("watch", "fails")]


def test_a_shelf_ends_at_its_minute_though_no_rule_asks_to_be_judged() -> None:
    watch, _ = watching()
    watch.fold(read("engine-space", START + 1, -3.0))
    watch.fold(Clock(START + HOUR))
    (alert,) = watch.open_alerts()
    watch.fold(Shelve("tern", alert.id, START + HOUR, "R. Invented", "why", START + 2 * HOUR + 1))
    back = watch.fold(Clock(START + 9 * HOUR)).events
    assert [(e.change, e.at_ms) for e in back] == [(AlertChange.BACK, START + 2 * HOUR + MINUTE)]


def test_a_watch_that_takes_its_alerts_from_the_journal_ends_their_shelves() -> None:
    watch, _ = watching()
    watch.fold(read("engine-space", START + 1, -3.0))
    watch.fold(Clock(START + HOUR))
    (alert,) = watch.open_alerts()
    watch.fold(Shelve("tern", alert.id, START + HOUR, "R. Invented", "why", START + 2 * HOUR))
    again, _ = watching()
    again.adopt(again, watch.open_alerts())
    back = again.fold(Clock(START + 9 * HOUR)).events
    assert [(e.change, e.at_ms) for e in back][-1] == (AlertChange.ENDED, START + 2 * HOUR)
