"""How much the silence of a boat, or of one of her sensors, weighs.

A boat that is new in the record has sensors that are not switched on yet, or not by the right name, and what a broker
kept for her comes in sensor by sensor. In her first day what was never heard is *not heard yet*: a caution, unless she
is afloat or a frost is known to come that can harm her.
"""

from collections.abc import Iterator

from monitor.model.equipment import Sensor
from monitor.model.scale import Priority
from monitor.model.vessel import Mode, Vessel
from monitor.rules.silence_frost import can_freeze
from monitor.rules.silence_limits import LIMITS
from monitor.rules.silence_memory import Heard, SilenceState

QUICK = frozenset({Mode.AFLOAT_LAID_UP, Mode.FIRST_24_H_AFLOAT})
"""Modes in which water can come from outside."""

NEW_MS = LIMITS.ms("new_boat")
_ALARM_MS = LIMITS.ms("gateway_alarm")


class Hazards:
    """The sensors that frost or water would go unseen without."""

    def __init__(self, record: Vessel) -> None:
        self._mode = record.mode
        systems = [s for s in record.liquid_systems if can_freeze(s)]
        self._frost = {s.sensor or record.outside_sensor for s in systems}
        bilges = () if record.mode is Mode.ASHORE_BUNG_OUT else record.bilges
        self._water = {sensor for bilge in bilges for sensor in (bilge.level_sensor, bilge.float_sensor)}

    def priority(self, sensor: Sensor, *, is_new: bool, frost: bool) -> Priority:
        """Give the priority of a sensor's silence.

        Args:
            sensor: the sensor.
            is_new: whether it was never heard, and has not been in the record for a day.
            frost: whether a frost that can harm her is known to come.
        """
        by_water, by_frost = sensor.id in self._water, sensor.id in self._frost
        unattended = self._mode.is_laid_up or self._mode in QUICK
        if not unattended or not (by_water or by_frost):
            return Priority.CAUTION
        if is_new and not (by_water and self._mode in QUICK) and not (by_frost and frost):
            return Priority.CAUTION
        return Priority.WARNING


def gateway_priority(mode: Mode, *, from_ms: int, new_to_ms: int | None, frost: bool, now_ms: int) -> Priority:
    """Give the priority of a whole boat's silence.

    Args:
        mode: how she lies.
        from_ms: since when she is silent.
        new_to_ms: the end of the first day of one that was never heard, else None.
        frost: whether a frost that can harm her is known to come.
        now_ms: now.
    """
    quick = mode in QUICK
    if new_to_ms is not None and now_ms < new_to_ms:
        return Priority.WARNING if quick or frost else Priority.CAUTION
    alarm_ms = max(from_ms, new_to_ms or from_ms) + _ALARM_MS
    return Priority.ALARM if quick and now_ms >= alarm_ms else Priority.WARNING


def new_to_ms(state: SilenceState) -> int | None:
    """Give the end of the first day of a boat that was never heard, None for any other."""
    return None if state.newest_ms is not None or state.first_ms is None else state.first_ms + NEW_MS


def since_ms(state: SilenceState, heard: Heard) -> int:
    """Give from when a sensor's silence counts."""
    last = heard.cadence.last_ms
    return max(heard.since_ms if last is None else last, state.deaf_to_ms, state.came_ms)


def new_sensor_to_ms(state: SilenceState, heard: Heard) -> int:
    """Give the end of a sensor's first day in the record."""
    return max(heard.since_ms, state.came_ms) + NEW_MS


def turns_of_sensor(state: SilenceState, heard: Heard) -> Iterator[int]:
    """Give the times at which what is said of a sensor changes with no new reading."""
    if heard.jump is not None:
        yield heard.jump.at_ms + LIMITS.ms("jump_stands")
    if heard.silent and heard.cadence.last_ms is None:
        yield new_sensor_to_ms(state, heard)
    if heard.back is not None and heard.back.told_ms is not None:
        yield heard.back.told_ms + LIMITS.ms("sensor_off")
