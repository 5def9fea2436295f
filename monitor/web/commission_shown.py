"""The walk from sensor to sensor as the page shows it: what to do, what each says now, and what is proved."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from monitor.messages.plain import capital
from monitor.model.equipment import Sensor
from monitor.model.proof import Proof
from monitor.model.vessel import Vessel
from monitor.model.views import Newest
from monitor.record.commission import Want, WatchState
from monitor.record.commission_check import newest_for_ms, wants_hand
from monitor.record.commission_figures import figure, unit_by_hand
from monitor.record.commission_says import called, caution_of, do_of
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
