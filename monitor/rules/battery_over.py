"""Whether a battery is overcharged: volts above any float for a day, or a battery that is hot.

A charger that never comes down from its highest volts boils the water out of a battery and can set it running away in
heat. Volts are held against the highest float at the battery's temperature; the battery's own thermometer against
another one in the same place, where the record has one.
"""

from dataclasses import dataclass

from monitor.model.equipment import Battery
from monitor.model.quantity import Quantity
from monitor.model.reading import Seen
from monitor.model.vessel import Vessel
from monitor.rules.battery_float import most_float_v
from monitor.rules.battery_limits import LIMITS
from monitor.rules.battery_warmth import Warmth

_ROOM_V, _HOLE_MS, _FOR_MS = LIMITS["over_room"], LIMITS.ms("over_hole"), LIMITS.ms("over_for")
_FRESH_MS = LIMITS.ms("heat_fresh")


@dataclass(slots=True)
class Over:
    """What is kept of one battery's charging. Volts are on the 12 V basis.

    Attributes:
        since_ms: since when its volts stand above any float, None while they do not.
        at_ms: when volts were last heard.
        space: what the other thermometer in its place last said.
        hot: whether it is held to be hot.
    """

    since_ms: int | None = None
    at_ms: int = 0
    space: Seen | None = None
    hot: bool = False


def most_v(t_degc: float, *, lithium: bool) -> float:
    """Give the volts above which a battery is charged harder than any charger floats it."""
    return LIMITS["lithium_float"] if lithium else most_float_v(t_degc)


def follow_over(over: Over, at_ms: int, v: float, limit_v: float) -> None:
    """Take volts in."""
    if over.since_ms is not None and (v < limit_v - _ROOM_V or at_ms - over.at_ms > _HOLE_MS):
        over.since_ms = None
    if over.since_ms is None and v > limit_v:
        over.since_ms = at_ms
    over.at_ms = at_ms


def over_from_ms(over: Over) -> int | None:
    """Say from which time on it counts as overcharged if nothing changes, None where its volts are not too high.

    Volts that fell silent before the day was nearly over prove no such day.
    """
    if over.since_ms is None or over.at_ms < over.since_ms + _FOR_MS - _HOLE_MS:
        return None
    return over.since_ms + _FOR_MS


def hotter_k(over: Over, warmth: Warmth, now_ms: int) -> float | None:
    """Give how much hotter the battery is than its place, None where either is not heard."""
    space = over.space
    if warmth.at_ms is None or space is None or now_ms - min(warmth.at_ms, space.at_ms) > _FRESH_MS:
        return None
    return warmth.latest_degc - space.value


def is_hot(over: Over, warmth: Warmth, now_ms: int) -> bool:
    """Say whether the battery is hot, and keep to it until it is heard to have cooled by more than a little."""
    if warmth.at_ms is None or now_ms - warmth.at_ms > _FRESH_MS:
        return over.hot
    room = LIMITS["hotter_deadband"] if over.hot else 0.0
    above = hotter_k(over, warmth, now_ms)
    beside = above >= LIMITS["hotter"] - room if above is not None else over.hot and over.space is not None
    over.hot = beside or warmth.latest_degc >= LIMITS["hot"] - room
    return over.hot


def may_be_hot(over: Over, warmth: Warmth) -> bool:
    """Say whether what was heard of it is not plainly too cool for `is_hot` to say so at any time from now on."""
    room = LIMITS["hotter_deadband"]
    if over.hot or warmth.latest_degc >= LIMITS["hot"] - room:
        return True
    return over.space is not None and warmth.latest_degc - over.space.value >= LIMITS["hotter"] - room


def probe_is_on(battery: Battery, record: Vessel) -> bool:
    """Say whether the battery's thermometer sits on it: one that a space, a system or a bilge uses too does not."""
    shared = {s.temperature_sensor for s in record.spaces} | {b.temperature_sensor for b in record.bilges}
    shared |= {s.sensor for s in record.liquid_systems}
    return battery.temperature_sensor is not None and battery.temperature_sensor not in shared


def other_thermometer(battery: Battery, record: Vessel) -> str | None:
    """Find another thermometer in the place of the battery's own, None where the record has none there."""
    own = record.sensor(battery.temperature_sensor or "")
    if own is None or not probe_is_on(battery, record):
        return None
    others = (s for s in record.sensors if s.quantity is Quantity.TEMPERATURE and s.id != own.id)
    return next((s.id for s in others if s.place.casefold() == own.place.casefold()), None)
