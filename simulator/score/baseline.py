"""The fixed-threshold watch: what somebody would set up in a general-purpose alerting stack, on the same messages.

Every threshold has to be passed by two readings running, and is clear at the first reading that does not pass it; a
switch is told at once. A threshold stands while nothing is heard. Each threshold of a sensor is one message, whatever
aboard hangs on it: the stack knows no record. All thresholds are common practice, no source.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from monitor.model.parcel import ClockMessage
from monitor.model.scale import Priority
from monitor.model.vessel import Vessel
from simulator.score.episodes import Stretch
from simulator.score.stretches import LEVELS
from simulator.winter import Message, Pack

FREEZING_DEGC = 0.0
DAMP_RH = 70.0
LOW_V = 12.2
NOMINAL_V = 12.0
SILENT_S = 3_600.0
SILENT_INTERVALS = 3
READINGS = 2

Key = tuple[str, str]


@dataclass(slots=True)
class Threshold:
    """One threshold on one sensor.

    Attributes:
        said: names its message.
        keys: rule and subject of what it tells of, in the score's words.
        priority: how it is told.
        limit: the threshold.
        rises: whether it is passed upwards.
        readings: how many readings running have to.
        run: how many have.
        since_ms: since when it stands, None where it does not.
    """

    said: str
    keys: tuple[Key, ...]
    priority: Priority
    limit: float
    rises: bool
    readings: int = READINGS
    run: int = 0
    since_ms: int | None = None

    def passed(self, value: float) -> bool:
        """Whether a value passes it."""
        return value > self.limit if self.rises else value < self.limit


class Baseline:
    """The thresholds of one vessel, as her record names the sensors."""

    def __init__(self, record: Vessel, begins_ms: int) -> None:
        self._found: list[Stretch] = []
        self._by_sensor: dict[str, list[Threshold]] = {}
        for sensor, threshold in thresholds_of(record):
            self._by_sensor.setdefault(sensor, []).append(threshold)
        self._limit_ms = {s.id: round(1000 * max(SILENT_S, SILENT_INTERVALS * s.interval_s)) for s in record.sensors}
        self._heard_ms = dict.fromkeys(self._limit_ms, begins_ms)
        self._silent_since: dict[str, int] = {}
        self._look_ms = begins_ms

    def take(self, message: Message) -> None:
        """Take a message of the winter's stream; forecasts and changes of the record are nothing to it."""
        if isinstance(message, ClockMessage):
            if message.at_ms >= self._look_ms:
                self._look_for_silence(message.at_ms)
        elif isinstance(message, Pack):
            for sensor, _, _, value in message.readings:
                self._hear(sensor, value, message.at_ms)

    def stretches(self, ends_ms: int) -> list[Stretch]:
        """End the winter, and give what was told in it."""
        for thresholds in self._by_sensor.values():
            for threshold in thresholds:
                self._clear(threshold, ends_ms)
        for subject in list(self._silent_since):
            self._speaks(subject, ends_ms)
        return self._found

    def _hear(self, sensor: str, value: float, at_ms: int) -> None:
        if sensor not in self._heard_ms:
            return
        self._heard_ms[sensor] = at_ms
        if self._silent_since:
            self._speaks(sensor, at_ms)
            self._speaks("gateway", at_ms)
        for threshold in self._by_sensor.get(sensor, ()):
            if threshold.passed(value):
                threshold.run += 1
                if threshold.since_ms is None and threshold.run >= threshold.readings:
                    threshold.since_ms = at_ms
            else:
                threshold.run = 0
                self._clear(threshold, at_ms)

    def _look_for_silence(self, now_ms: int) -> None:
        silent = [s for s, heard_ms in self._heard_ms.items() if now_ms - heard_ms >= self._limit_ms[s]]
        if silent and len(silent) == len(self._heard_ms):
            for sensor in silent:
                self._speaks(sensor, now_ms)
            silent = ["gateway"]
        for subject in silent:
            self._silent_since.setdefault(subject, now_ms)
        self._look_ms = min(
            (self._heard_ms[s] + limit for s, limit in self._limit_ms.items() if self._heard_ms[s] + limit > now_ms),
            default=now_ms,
        )

    def _speaks(self, subject: str, at_ms: int) -> None:
        since_ms = self._silent_since.pop(subject, None)
        if since_ms is not None:
            self._found.append(Stretch("silence", subject, Priority.WARNING, since_ms, at_ms))

    def _clear(self, threshold: Threshold, at_ms: int) -> None:
        if threshold.since_ms is None:
            return
        for rule, subject in threshold.keys:
            self._found += [
                Stretch(rule, subject, level, threshold.since_ms, at_ms, threshold.said)
                for level in LEVELS
                if level <= threshold.priority
            ]
        threshold.since_ms = None


def thresholds_of(record: Vessel) -> Iterator[tuple[str, Threshold]]:
    """Give every threshold with the sensor it is set on."""
    yield from _cold(record)
    for space in record.spaces:
        machine = record.dehumidifier
        dried = machine is not None and machine.running and machine.space == space.id
        keys = (("damp", space.id), *((("damp", "dehumidifier"),) if dried else ()))
        sensor = space.humidity_sensor
        yield sensor, Threshold(f"{sensor} over", keys, Priority.WARNING, DAMP_RH, rises=True)
    for bank in record.batteries:
        if bank.voltage_sensor is not None:
            low_v = LOW_V * bank.nominal_v / NOMINAL_V
            said, keys = f"{bank.voltage_sensor} under", (("battery", bank.id),)
            yield bank.voltage_sensor, Threshold(said, keys, Priority.WARNING, low_v, rises=False)
    yield from _water(record)
    mains = record.shore_power.mains_sensor
    if mains is not None:
        said, keys = f"{mains} off", (("power", "shore-power"),)
        yield mains, Threshold(said, keys, Priority.WARNING, 0.5, rises=False, readings=1)


def _cold(record: Vessel) -> Iterator[tuple[str, Threshold]]:
    """Give one threshold a thermometer, for all that it is recorded to be the thermometer of."""
    keys: dict[str, list[Key]] = {}
    things = [(s.id, s.sensor) for s in record.liquid_systems]
    things += [(b.id, b.temperature_sensor) for b in record.batteries]
    for subject, own in things:
        sensor = own or record.outside_sensor
        if sensor is not None:
            keys.setdefault(sensor, []).append(("frost", subject))
    for sensor, told in keys.items():
        yield (
            sensor,
            Threshold(f"{sensor} under", tuple(told), Priority.WARNING, FREEZING_DEGC, rises=False),
        )


def _water(record: Vessel) -> Iterator[tuple[str, Threshold]]:
    for bilge in record.bilges:
        keys = (("bilge", bilge.id),)
        # Level and float tell of one water: one message.
        said = f"{bilge.id} water"
        if bilge.level_sensor is not None:
            yield bilge.level_sensor, Threshold(said, keys, Priority.ALARM, bilge.high_m, rises=True)
        if bilge.float_sensor is not None:
            yield bilge.float_sensor, Threshold(said, keys, Priority.ALARM, 0.5, rises=True, readings=1)
