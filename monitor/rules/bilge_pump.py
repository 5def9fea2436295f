"""What a bilge pump did: its runs, from a sensor on its lead or from the teeth that it cuts into the level.

A boat that lies still makes next to no water. A pump that runs by itself hides a leak until it stops, so its runs are
counted, and so is how much more often it runs than it did.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field

from monitor.model.scale import Priority
from monitor.rules.bilge_limits import LIMITS
from monitor.rules.compartment import Compartment
from monitor.rules.inflow import litres_at
from monitor.rules.rule import DAY_MS
from monitor.science.counts import chance_of_as_many

BIN_MS = LIMITS.ms("pump_bin")
_TOOTH_M, _TOOTH_NOISES = LIMITS["pumped"], LIMITS["pump_noises"]
_ONE_IS_CHANCE = 2
_BINS = LIMITS.ms("pump_kept") // BIN_MS
_LATE_BINS = LIMITS.ms("pump_late") // BIN_MS


@dataclass(slots=True)
class Bin:
    """A quarter of a day: its number, how often the pump ran, for how long (s), and what it took out (m, L)."""

    number: int
    runs: int = 0
    run_s: float = 0.0
    fell_m: float = 0.0
    litres: float = 0.0


@dataclass(slots=True)
class Pump:
    """What is kept of one pump.

    Attributes:
        since_ms: from when on it is watched, None before.
        bins: quarters of days with a run, oldest first.
        on_since_ms: since when it runs, by its sensor; None while it does not, or where there is none.
        at_ms, level_m: the newest level heard, believed or not.
        falling: whether it had fallen as a pump makes it fall.
        starts_m: the level from which it last fell so.
    """

    since_ms: int | None = None
    bins: list[Bin] = field(default_factory=list)
    on_since_ms: int | None = None
    at_ms: int = 0
    level_m: float | None = None
    falling: bool = False
    starts_m: float | None = None


@dataclass(frozen=True, slots=True)
class Runs:
    """How often a pump runs.

    Attributes:
        runs: how many runs of late.
        per_day: the same, a day.
        before_per_day: how many a day before that, None where it was not watched for long enough.
        more: whether that is more than chance makes of what it was.
        l_per_day: what it takes out, None where that is not known.
        share: share of the time that it runs, None where only the level tells.
    """

    runs: int
    per_day: float
    before_per_day: float | None
    more: bool
    l_per_day: float | None
    share: float | None


def hear_pump(pump: Pump, at_ms: int, *, runs: bool) -> None:
    """Take the sensor on the pump's lead."""
    pump.since_ms = at_ms if pump.since_ms is None else pump.since_ms
    if runs and pump.on_since_ms is None:
        pump.on_since_ms = at_ms
        _bin(pump, at_ms).runs += 1
    elif not runs and pump.on_since_ms is not None:
        _bin(pump, at_ms).run_s += (at_ms - pump.on_since_ms) / 1000
        pump.on_since_ms = None


def hear_tooth(pump: Pump, place: Compartment, at_ms: int, level_m: float, noise_m: float) -> None:
    """Take a level, believed or not, in the order of its time: a great fall is a run, and a fall of two steps is one.

    A pump that runs about as often as the level is heard leaves teeth of one reading, which look like glitches; so
    every fall counts, and a run or two a day is not yet told.
    """
    before, was_falling = pump.level_m, pump.falling
    pump.since_ms = at_ms if pump.since_ms is None else pump.since_ms
    pump.at_ms, pump.level_m = at_ms, level_m
    if before is None:
        return
    fell_m = before - level_m
    pump.falling = fell_m > max(_TOOTH_M, _TOOTH_NOISES * noise_m)
    if pump.falling:
        tooth = _bin(pump, at_ms)
        pump.starts_m = max(before, pump.starts_m or 0.0) if was_falling else before
        if place.bilge.pump_sensor is None:
            tooth.runs += not was_falling
        tooth.fell_m += fell_m
        if place.table is not None:
            tooth.litres += litres_at(place.table, before) - litres_at(place.table, level_m)


def runs_of(pump: Pump, place: Compartment, now_ms: int) -> Runs | None:
    """Say how often a pump ran in the last days, None where it did not, or only once."""
    if pump.since_ms is None:
        return None
    first_late = now_ms // BIN_MS - _LATE_BINS + 1
    late = [b for b in pump.bins if b.number >= first_late]
    runs = sum(b.runs for b in late)
    if runs < _ONE_IS_CHANCE:
        return None
    late_d = max((now_ms - max(first_late * BIN_MS, pump.since_ms)) / DAY_MS, 1.0)
    oldest_ms = max(pump.since_ms, (now_ms // BIN_MS - _BINS) * BIN_MS)
    before_d = (first_late * BIN_MS - oldest_ms) / DAY_MS
    before = None if before_d < LIMITS["pump_before"] else sum(b.runs for b in pump.bins) - runs
    run_s = sum(b.run_s for b in late)
    if pump.on_since_ms is not None:
        run_s += (now_ms - pump.on_since_ms) / 1000
    by_sensor = place.bilge.pump_sensor is not None
    litres = sum(b.litres for b in late) if place.table is not None else 0.0
    delivered = run_s / 3600 * (place.pump_l_per_h or 0.0)
    out_l = delivered if by_sensor and delivered else litres
    return Runs(
        runs=runs,
        per_day=runs / late_d,
        before_per_day=None if before is None else before / before_d,
        more=before is not None
        and runs / late_d > LIMITS["pump_times_more"] * before / before_d
        and chance_of_as_many(runs, late_d, before, before_d) < LIMITS["pump_chance"],
        l_per_day=out_l / late_d if out_l else None,
        share=run_s / 3600 / 24 / late_d if by_sensor else None,
    )


def grade(runs: Runs, place: Compartment) -> Priority | None:
    """Grade how often a pump runs: by its runs, by how many more they are, by how much of what it can do is used."""
    can_l = None if place.pump_l_per_h is None else 24.0 * place.pump_l_per_h
    used = runs.share if can_l is None or runs.l_per_day is None else max(runs.l_per_day / can_l, runs.share or 0.0)
    if used is not None and used >= LIMITS["pump_share"]:
        return Priority.ALARM
    if runs.more or runs.per_day >= LIMITS["pump_often"]:
        return Priority.WARNING
    return Priority.CAUTION if runs.per_day >= LIMITS["pump_told"] else None


def is_tooth(pump: Pump, place: Compartment, level_m: float) -> bool:
    """Whether a level that rises is still below where the pump took it down before: the next run is yet to come.

    Never at the high mark: a bilge that was bailed from above it has not been pumped by itself.
    """
    return pump.starts_m is not None and level_m < min(pump.starts_m + _TOOTH_M, place.bilge.high_m)


def too_long_from_ms(pump: Pump) -> int | None:
    """Give from when on a run is too long if it goes on, None while the pump does not run."""
    return None if pump.on_since_ms is None else pump.on_since_ms + LIMITS.ms("pump_long")


def turns_of_pump(pump: Pump, now_ms: int) -> Iterator[int]:
    """Give the times at which what is said of a pump could change by themselves."""
    long_ms = too_long_from_ms(pump)
    if long_ms is not None:
        yield long_ms
    if pump.bins:
        yield (now_ms // BIN_MS + 1) * BIN_MS


def _bin(pump: Pump, at_ms: int) -> Bin:
    number = at_ms // BIN_MS
    bins = pump.bins
    if not bins or bins[-1].number < number:
        bins.append(Bin(number))
        while bins[0].number <= number - _BINS:
            del bins[0]
    return bins[-1]
