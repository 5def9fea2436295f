"""The walk from sensor to sensor as the page shows it: what to do, what each says now, and what is proved."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from monitor.messages.plain import capital
from monitor.model.equipment import Sensor
from monitor.model.proof import Proof
from monitor.model.vessel import Mode, Vessel
from monitor.model.views import Newest
from monitor.record.commission import Want, WatchState, watch_state
from monitor.record.commission_check import newest_for_ms, wants_hand
from monitor.record.commission_figures import figure, unit_by_hand
from monitor.record.commission_says import called, caution_of, do_of, missing_words
from monitor.web.clock import YardClock


@dataclass(frozen=True, slots=True)
class WayShown:
    """One way in which a sensor is proved; ``done`` says who proved it when, empty where nobody has."""

    want: Want
    title: str
    do: str
    caution: str
    unit: str
    done: str

    @property
    def key(self) -> str:
        """Its name in the page's ids."""
        return f"{self.want.sensor.id}-{self.want.way.name.lower().replace('_', '-')}"


@dataclass(frozen=True, slots=True)
class StepShown:
    """One sensor: what it says now, and the ways in which it is proved."""

    sensor: Sensor
    name: str
    says: str
    is_old: bool
    ways: tuple[WayShown, ...]

    @property
    def left(self) -> int:
        """How many proofs are missing."""
        return sum(not way.done for way in self.ways)


@dataclass(frozen=True, slots=True)
class Unproved:
    """What is missing until she is watched, or proved again: a line each, under its heading."""

    heading: str
    lines: tuple[str, ...]
    zeros: bool


def unproved(record: Vessel) -> Unproved | None:
    """Say what is missing; None where nothing is, she has no sensors, or people use her."""
    state = watch_state(record)
    is_asked = record.mode.is_laid_up or record.mode is Mode.LAYING_UP
    if state.is_whole or not record.sensors or not is_asked:
        return None
    lines = missing_words(state.missing)
    if state.taken_on is None:
        lines.append("the duty phone rung, and the yard takes the watch on")
    heading = "Not watched yet" if state.taken_on is None else "To prove again"
    return Unproved(heading, tuple(lines), bool(state.zeros))


def proof_entries(record: Vessel, clock: YardClock) -> Iterator[tuple[str, str, tuple[str, ...]]]:
    """Give the record's proofs as name, state and details of each sensor, then who took the watch on."""
    found: dict[str, list[Want]] = {}
    for want in watch_state(record).wants:
        found.setdefault(want.sensor.id, []).append(want)
    for wants in found.values():
        sensor, left = wants[0].sensor, [want.way.value for want in wants if want.proof is None]
        details = [
            f"{capital(w.way.value)}: {proof_words(sensor, w.proof, clock)}" for w in wants if w.proof is not None
        ]
        yield capital(called(sensor)), f"not proved {' or '.join(left)}" if left else "proved", tuple(details)
    taken = record.watch_taken_on
    if taken is not None:
        when = clock.whole(round(taken.at.timestamp() * 1000))
        details = [f"{taken.rung} answered the duty phone", *([taken.note] if taken.note else [])]
        yield "The yard has the watch", f"{taken.by}, {when}, at {taken.place}", tuple(details)


def steps(record: Vessel, state: WatchState, newest: Mapping[str, Newest], clock: YardClock) -> list[StepShown]:
    """Give the steps of the walk, a sensor each."""
    found: dict[str, list[Want]] = {}
    for want in state.wants:
        found.setdefault(want.sensor.id, []).append(want)
    return [_step(record, wants, newest, clock) for wants in found.values()]


def says_now(sensor: Sensor, newest: Mapping[str, Newest], clock: YardClock) -> tuple[str, bool]:
    """Say what a sensor says now, and whether that is too old to prove it."""
    last = newest.get(sensor.id)
    if last is None:
        return "It has not spoken yet: see that it has power and is in reach, then wait or press its button.", True
    said, at = figure(sensor, last.value), clock.at(last.event_ms)
    if clock.now_ms - last.event_ms > newest_for_ms(sensor):
        return f"It has not spoken since {at}, when it said {said}: wait, or press its button.", True
    return f"It says {said} now, heard {at}.", False


def proof_words(sensor: Sensor, proof: Proof, clock: YardClock) -> str:
    """Say what a proof found."""
    shown = "" if proof.wanted is None or sensor.quantity.is_switch else figure(sensor, proof.wanted)
    wanted = f"; it should have been {shown}" if shown else ""
    return f"{proof.by}, {clock.whole(_ms(proof))}: it said {figure(sensor, proof.said)}{wanted}"


def _ms(proof: Proof) -> int:
    return round(proof.at.timestamp() * 1000)


def _step(record: Vessel, wants: Sequence[Want], newest: Mapping[str, Newest], clock: YardClock) -> StepShown:
    sensor = wants[0].sensor
    says, is_old = says_now(sensor, newest, clock)
    ways = tuple(
        WayShown(
            want,
            capital(want.way.value),
            do_of(record, want),
            caution_of(want),
            unit_by_hand(sensor) if wants_hand(record, want) else "",
            "" if want.proof is None else proof_words(sensor, want.proof, clock),
        )
        for want in wants
    )
    return StepShown(sensor, capital(called(sensor)), says, is_old, ways)
