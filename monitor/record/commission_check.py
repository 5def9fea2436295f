"""Whether a sensor is proved by what it says now: yes, as a proof to keep, or no, with the reason in words."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime

from monitor.model.equipment import Sensor
from monitor.model.proof import Proof, ProofWay
from monitor.model.vessel import Vessel
from monitor.record.commission import Want, is_on_pump
from monitor.record.commission_figures import HALF, figure
from monitor.record.commission_limits import LIMITS

_HAND_WAYS = frozenset({ProofWay.DIPPED, ProofWay.MULTIMETER, ProofWay.COMPARED})


@dataclass(frozen=True, slots=True)
class Heard:
    """What a sensor said last, when (ms UTC), and the lowest of what it said shortly before; None where nothing."""

    value: float
    at_ms: int
    lowest: float | None = None


class NotProvedError(Exception):
    """A sensor is not proved. Its text says why, and what to do."""


def wants_hand(record: Vessel, want: Want) -> bool:
    """Say whether a hand has to read something beside the sensor."""
    return want.way in _HAND_WAYS and not is_on_pump(record, want.sensor)


def newest_for_ms(sensor: Sensor) -> int:
    """Give how old a sensor's word may be to prove it."""
    return max(LIMITS.ms("minutes"), round(LIMITS["intervals"] * sensor.interval_s * 1000))


def looks_back_ms(sensor: Sensor) -> int:
    """Give how far back it is looked for what a sensor said before a hand or a cloth was at it."""
    return max(LIMITS.ms("look_back"), round(LIMITS["look_back_intervals"] * sensor.interval_s * 1000))


def prove(
    record: Vessel,
    want: Want,
    heard: Heard | None,
    hand: float | None,
    by: str,
    now_ms: int,
    spell: Callable[[int], str],
) -> Proof:
    """Check what a sensor says, and give the proof of it.

    Args:
        record: her record.
        want: the proof that is wanted.
        heard: what the sensor said last; None where it never spoke.
        hand: what a hand read beside it, in the sensor's unit; None where nothing.
        by: who does it.
        now_ms: event time now.
        spell: writes a time for people.

    Raises:
        NotProvedError: in words, where it is not proved.
    """
    sensor = want.sensor
    if heard is None:
        raise NotProvedError(
            "It has never spoken: see that it has power and is in reach, then wait or press its button."
        )
    if now_ms - heard.at_ms > newest_for_ms(sensor):
        raise NotProvedError(f"It has not spoken since {spell(heard.at_ms)}: wait, or press its button.")
    if hand is None and wants_hand(record, want):
        raise NotProvedError("Write down what you read by hand.")
    wanted = _checked(record, want, heard, hand)
    at = datetime.fromtimestamp(now_ms / 1000, UTC)
    return Proof(sensor=sensor.id, way=want.way, by=by, at=at, said=heard.value, wanted=wanted)


def _checked(record: Vessel, want: Want, heard: Heard, hand: float | None) -> float | None:
    """Give what the sensor should have said; None where a change alone was asked for."""
    if hand is not None and wants_hand(record, want):
        return _as_by_hand(want, heard, hand)
    match want.way:
        case ProofWay.ICE_WATER:
            return _near(want, heard, LIMITS["ice_point"], LIMITS["ice_water"], "in ice-water it should say", _SETTLE)
        case ProofWay.IN_THE_HAND:
            _has_risen(want, heard)
        case ProofWay.DAMP_CLOTH:
            _is_damp(want, heard)
        case _:
            return _switched(want, heard)
    return None


def _switched(want: Want, heard: Heard) -> float:
    wanted, otherwise = _SWITCHED[want.way]
    if (heard.value >= HALF) is not (wanted >= HALF):
        raise NotProvedError(otherwise)
    return wanted


_SWITCHED = {
    ProofWay.LIFTED: (1.0, "Lifted, it should say up and says down: hold it up, or look for what jams it."),
    ProofWay.LEAD_PULLED: (0.0, "With the lead pulled it should say off and says on: wait, or see what it is fed by."),
    ProofWay.COMPARED: (1.0, "With the pump running it should say on and says off: see which lead it is on."),
}
_SETTLE = "wait for it to settle, stir, or replace it"


def _as_by_hand(want: Want, heard: Heard, hand: float) -> float:
    if want.way is ProofWay.DIPPED:
        do = "zero the sensor at its device, or dip again where it is, and try again"
        return _near(want, heard, hand, LIMITS["dip"], "by your dip it should say", do)
    row = LIMITS["multimeter" if want.way is ProofWay.MULTIMETER else "compared"]
    do = "measure at the same place again, see which battery it is on, or replace it"
    if want.way is ProofWay.COMPARED:
        do = "read both again at the same time, or replace it"
    return _near(want, heard, hand, row / 100 * abs(hand), "it should say", do)


def _near(want: Want, heard: Heard, wanted: float, beyond: float, should: str, do: str) -> float:
    allowed = want.sensor.accuracy + beyond
    if abs(heard.value - wanted) > allowed + 1e-9:  # what a float cannot hold is no difference
        shown, within, says = (figure(want.sensor, v) for v in (wanted, allowed, heard.value))
        within = within.partition(" ")[0]
        raise NotProvedError(f"{should[:1].upper()}{should[1:]} {shown} within {within} and says {says}: {do}.")
    return wanted


def _has_risen(want: Want, heard: Heard) -> None:
    by = figure(want.sensor, LIMITS["in_the_hand"])
    if heard.lowest is None:
        raise NotProvedError(
            f"In the hand it should rise by {by}, and it has spoken only once: wait for its next word."
        )
    if heard.value - heard.lowest < LIMITS["in_the_hand"]:
        risen = figure(want.sensor, max(heard.value - heard.lowest, 0.0))
        raise NotProvedError(
            f"In the hand it should rise by {by} and has risen by {risen}: hold it longer, or replace it."
        )


def _is_damp(want: Want, heard: Heard) -> None:
    high, sensor = LIMITS["damp_cloth"], want.sensor
    if heard.value < high - sensor.accuracy:
        raise NotProvedError(
            f"Under a damp cloth it should say {figure(sensor, high)} or more and says {figure(sensor, heard.value)}: "
            "wait, wrap it more closely, or replace it."
        )
    if heard.lowest is None:
        raise NotProvedError("It has spoken only once: let it speak without the cloth first.")
    if heard.value - heard.lowest < LIMITS["damp_rise"]:
        said = figure(sensor, heard.lowest)
        raise NotProvedError(f"It said {said} already without the cloth: dry it in the warm first, then try again.")
