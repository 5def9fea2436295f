"""Where water in a bilge comes from, what to do and what not, from the record: codes that `monitor.messages` knows."""

from collections.abc import Iterator
from dataclasses import dataclass

from monitor.model.equipment import Bilge, SystemState
from monitor.model.vessel import Mode, Vessel
from monitor.rules.bilge_limits import LIMITS


@dataclass(frozen=True, slots=True)
class Pattern:
    """How the water comes, as far as it tells where from.

    Attributes:
        slow: whether it fills over days, as a gland drips and a shut seacock does not.
        late_share: share of the rise that came in its later half, None where there is no rise to look at.
        least_l_per_day: the least that comes in, None where that is not known.
        thawed: whether something left wet aboard has just thawed.
        pumped: whether the pump takes it out and it comes again.
    """

    slow: bool = False
    late_share: float | None = None
    least_l_per_day: float | None = None
    thawed: bool = False
    pumped: bool = False

    @property
    def is_steady(self) -> bool:
        """Whether it comes evenly, as a drip or a hole does; not known counts as steady."""
        return self.late_share is None or LIMITS["steady_least"] <= self.late_share <= LIMITS["steady_most"]

    @property
    def slows(self) -> bool:
        """Whether it came in a burst and slows, as a shower does, or a tank that empties itself."""
        return self.late_share is not None and self.late_share < LIMITS["steady_least"]

    def may_be(self, most_l_per_day: float) -> bool:
        """Whether no more comes in than something can give; not known may be."""
        return self.least_l_per_day is None or self.least_l_per_day <= most_l_per_day


def causes(record: Vessel, bilge: Bilge, pattern: Pattern) -> tuple[str, ...]:
    """Rank the likely causes of water, most likely first."""
    return tuple(dict.fromkeys(_ranked(record, bilge, pattern)))


def _ranked(record: Vessel, bilge: Bilge, pattern: Pattern) -> Iterator[str]:
    wet = any(_may_have_split(s.state) for s in record.liquid_systems)
    if pattern.thawed:
        yield "thaw_burst"
    if record.berth:
        yield from _from_outside(record, pattern, wet=wet)
    elif record.mode is Mode.ASHORE_BUNG_OUT:
        yield "drain_blocked"
    runs_in = record.dehumidifier is not None and record.dehumidifier.running
    fits_condensate = runs_in and pattern.may_be(LIMITS["condensate_most"])
    if fits_condensate and pattern.slow and pattern.is_steady and not record.berth:
        yield "condensate"  # ashore a steady drip has no gland to come from
    yield "rain"
    if wet:
        yield "thaw_burst"
    if fits_condensate:
        yield "condensate"
    if bilge.pump_lph is not None and not pattern.pumped:
        yield "pump_stopped"
        if record.berth:
            yield "siphon"


def _from_outside(record: Vessel, pattern: Pattern, *, wet: bool) -> Iterator[str]:
    if record.open_seacocks:
        yield "seacock_open"
    drips = pattern.slow and pattern.may_be(LIMITS["gland_most"])
    if drips and not pattern.is_steady:
        yield "rain"
    if pattern.slows and wet and not pattern.slow:
        yield "thaw_burst"
    yield from ("gland", "seacock_passing") if drips else ("seacock_passing", "gland")
    if pattern.pumped:
        yield "siphon"


def first(record: Vessel, *, flooded: bool, thawed: bool = False) -> tuple[str, ...]:
    """Say what to do first: about a bilge that is or may soon be high, or about one that fills slowly."""
    steps = ["power_off_first", "take_somebody", "look_in_bilge"] if flooded else ["look_in_bilge"]
    if thawed:
        steps.append("look_for_split")
    if record.berth:
        steps += ["check_seacocks", "check_gland"] if flooded else ["check_gland", "check_seacocks"]
    elif record.mode is Mode.ASHORE_BUNG_OUT:
        steps.append("clear_drain")
    steps.append("find_rain")
    if flooded and record.berth:
        steps.append("pump_or_lift")
    else:
        steps.append("pump_and_note")
    return tuple(steps)


def never(*, flooded: bool) -> tuple[str, ...]:
    """Say what not to do."""
    common = ("no_oily_overboard", "no_switch_if_petrol")
    return ("no_stepping_in_live", *common) if flooded else common


DOUBT_CAUSES = ("water", "level_sensor_wrong", "float_stuck")
DOUBT_FIRST = ("power_off_first", "take_somebody", "look_in_bilge", "dip_and_compare", "lift_float")
DOUBT_NEVER = ("no_calling_it_the_sensor", "no_stepping_in_live")


def _may_have_split(state: SystemState) -> bool:
    return state in {SystemState.WET, SystemState.NOT_PROVEN}
