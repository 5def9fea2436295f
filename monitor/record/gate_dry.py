"""Whether she has been dry for ten minutes in the slings: by her bilge sensors, or by a person who looked."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from monitor.model.gate import DRY_MS, GateAct, GateWord
from monitor.model.vessel import Vessel

MM_PER_M = 1000


@dataclass(frozen=True, slots=True)
class Point:
    """What a bilge sensor said in a minute: its lowest and highest value, by the minute's beginning (ms UTC)."""

    at_ms: int
    low: float
    high: float


class Dry(StrEnum):
    """How it stands with the ten minutes."""

    NOT_IN_SLINGS = "not in the slings"
    WAITING = "waiting"
    WATER = "water"
    BY_SENSORS = "dry by her bilge sensors"
    BY_PERSON = "dry by a person"


@dataclass(frozen=True, slots=True)
class Dryness:
    """What is known of her ten minutes.

    Attributes:
        how: how it stands.
        slings: who said when that she is in the slings; None where nobody has.
        at_ms: when it was settled, None where it is not.
        sensor: the sensor that says water.
        rose_mm: by how much its level rose; None where it is a float.
        person: who looked, where a person settles it.
        unheard: bilge sensors that have said nothing since.
        has_sensors: whether she has any in her bilges.
    """

    how: Dry
    slings: GateWord | None = None
    at_ms: int | None = None
    sensor: str = ""
    rose_mm: float | None = None
    person: GateWord | None = None
    unheard: tuple[str, ...] = ()
    has_sensors: bool = False

    @property
    def is_dry(self) -> bool:
        """Whether the slings may come off by it."""
        return self.how in {Dry.BY_SENSORS, Dry.BY_PERSON}


def slings_from(words: Sequence[GateWord]) -> GateWord | None:
    """Give when it was last said that she is in the slings: said again, the minutes begin anew."""
    return next((word for word in reversed(words) if word.act is GateAct.IN_SLINGS), None)


def bilge_sensors(record: Vessel) -> tuple[str, ...]:
    """Give the sensors that would see water."""
    found = (s for bilge in record.bilges for s in (bilge.level_sensor, bilge.float_sensor) if s is not None)
    return tuple(dict.fromkeys(found))


def dryness(record: Vessel, words: Sequence[GateWord], heard: Mapping[str, Sequence[Point]]) -> Dryness:
    """Say how it stands with the ten minutes.

    Args:
        record: the valid record.
        words: what was said at the gate this spring, oldest first.
        heard: what each bilge sensor has said since she is in the slings, oldest first.

    Water at a sensor counts for more than a person's word: who mended the cause says anew that she is in the slings.
    """
    slings = slings_from(words)
    sensors = bilge_sensors(record)
    if slings is None:
        return Dryness(Dry.NOT_IN_SLINGS, has_sensors=bool(sensors))
    after = {sensor: [p for p in heard.get(sensor, ()) if p.at_ms >= slings.at_ms] for sensor in sensors}
    settled = [_settled_ms(points) for points in after.values()]
    dry_ms = max((at for at in settled if at is not None), default=0) if None not in settled and settled else None
    for sensor, points in after.items():
        within = [p for p in points if dry_ms is None or p.at_ms <= dry_ms]
        wet, rose_mm = _water(record, sensor, within)
        if wet:
            return Dryness(Dry.WATER, slings, sensor=sensor, rose_mm=rose_mm, has_sensors=True)
    if dry_ms is not None:
        return Dryness(Dry.BY_SENSORS, slings, dry_ms, has_sensors=True)
    unheard = tuple(sensor for sensor, points in after.items() if not points)
    person = next((w for w in words if _counts(w, slings)), None)
    how, at_ms = (Dry.WAITING, None) if person is None else (Dry.BY_PERSON, person.at_ms)
    return Dryness(how, slings, at_ms, person=person, unheard=unheard, has_sensors=bool(sensors))


def _counts(word: GateWord, slings: GateWord) -> bool:
    """Say whether somebody's word that she is dry is about ten minutes of these slings."""
    began_ms = word.from_ms
    return word.act is GateAct.DRY and began_ms is not None and slings.at_ms <= began_ms <= word.at_ms - DRY_MS


def _settled_ms(points: Sequence[Point]) -> int | None:
    """Give when a sensor had been heard over ten minutes, None where it has not."""
    return next((p.at_ms for p in points if p.at_ms - points[0].at_ms >= DRY_MS), None)


def _water(record: Vessel, sensor: str, points: Sequence[Point]) -> tuple[bool, float | None]:
    """Say whether a sensor says water, and for a level by how much it rose (mm)."""
    if not points:
        return False, None
    highest = max(p.high for p in points)
    if any(bilge.float_sensor == sensor for bilge in record.bilges):
        return highest > 0.0, None
    known = record.sensor(sensor)
    error_m = 0.0 if known is None else known.accuracy
    high_m = min(bilge.high_m for bilge in record.bilges if bilge.level_sensor == sensor)
    rose_m = highest - points[0].low
    return rose_m > error_m or highest >= high_m, round(rose_m * MM_PER_M)
