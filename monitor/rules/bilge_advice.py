"""Where water in a bilge comes from, what to do and what not, from the record: codes that `monitor.messages` knows."""

from monitor.model.equipment import Bilge, SystemState
from monitor.model.vessel import Mode, Vessel


def causes(record: Vessel, bilge: Bilge, *, slow: bool) -> tuple[str, ...]:
    """Rank the likely causes of water, most likely first.

    Args:
        record: the vessel's record.
        bilge: the bilge that fills.
        slow: whether it fills over days, as a gland drips and a shut seacock does not.
    """
    found = ["seacock_open"] if record.berth and record.open_seacocks else []
    if record.berth:
        found += ["gland", "seacock_passing"] if slow else ["seacock_passing", "gland"]
    elif record.mode is Mode.ASHORE_BUNG_OUT:
        found.append("drain_blocked")
    found.append("rain")
    if any(_may_have_split(s.state) for s in record.liquid_systems):
        found.append("thaw_burst")
    if record.dehumidifier is not None and record.dehumidifier.running:
        found.append("condensate")
    if bilge.pump_lph is not None:
        found.append("pump_stopped")
    return tuple(found)


def first(record: Vessel, *, flooded: bool) -> tuple[str, ...]:
    """Say what to do first: about a bilge that is or may soon be high, or about one that fills slowly."""
    steps = ["power_off_first", "take_somebody", "look_in_bilge"] if flooded else ["look_in_bilge"]
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
