"""Readings of several sensors brought together by the hour: means, however often each of them speaks."""

from dataclasses import dataclass, field

from monitor.rules.rule import HOUR_MS


@dataclass(slots=True)
class Heard:
    """One sensor: its newest reading, and the sum of the hour under way."""

    at_ms: int
    value: float
    total: float = 0.0
    count: int = 0


@dataclass(slots=True)
class Hours:
    """The hour under way (its number since 1970), and what each sensor said in it."""

    hour: int | None = None
    sensors: dict[str, Heard] = field(default_factory=dict)


def hear(hours: Hours, sensor: str, at_ms: int, value: float) -> None:
    """Add a reading to the hour under way."""
    heard = hours.sensors.get(sensor)
    if heard is None:
        heard = hours.sensors[sensor] = Heard(at_ms, value)
    heard.at_ms, heard.value = at_ms, value
    heard.total += value
    heard.count += 1


def mean(hours: Hours, sensor: str | None, stale_ms: int) -> float | None:
    """Give a sensor's mean in the hour under way, else what it said last unless that is stale; None where not known."""
    heard = None if sensor is None else hours.sensors.get(sensor)
    if heard is None or hours.hour is None:
        return None
    if heard.count:
        return heard.total / heard.count
    return heard.value if (hours.hour + 1) * HOUR_MS - heard.at_ms <= stale_ms else None


def begin_hour(hours: Hours, hour: int) -> None:
    """Begin another hour."""
    hours.hour = hour
    for heard in hours.sensors.values():
        heard.total, heard.count = 0.0, 0
