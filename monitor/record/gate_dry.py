"""Whether she has been dry for ten minutes in the slings: by her bilge sensors, or by a person who looked."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from monitor.model.gate import DRY_MS, GateAct, GateWord
from monitor.model.vessel import Vessel
from monitor.model.views import StoredRecord
from monitor.record.checks import is_afloat

MM_PER_M = 1000


@dataclass(frozen=True, slots=True)
class Point:
    """What a bilge sensor said in a minute: its lowest and highest value, by the minute's beginning (ms UTC).

    ``sound`` is False where any of it was suspect or failed: water it may well have seen, dry it does not prove.
    """

    at_ms: int
    low: float
    high: float
    sound: bool = True


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
        unwatched: compartments that none of them sees into: a person looks there.
    """

    how: Dry
    slings: GateWord | None = None
    at_ms: int | None = None
    sensor: str = ""
    rose_mm: float | None = None
    person: GateWord | None = None
    unheard: tuple[str, ...] = ()
    has_sensors: bool = False
    unwatched: tuple[str, ...] = ()

    @property
    def is_dry(self) -> bool:
        """Whether the slings may come off by it."""
        return self.how in {Dry.BY_SENSORS, Dry.BY_PERSON}


def slings_from(words: Sequence[GateWord]) -> GateWord | None:
    """Give when it was last said that she is in the slings: said again, the minutes begin anew."""
    return next((word for word in reversed(words) if word.act is GateAct.IN_SLINGS), None)


def records_since(versions: Sequence[StoredRecord], slings: GateWord | None) -> list[Vessel]:
    """Give the records valid since she is in the slings: water that was seen is not gone with the sensor that saw it.

    Args:
        versions: the winter's, oldest first.
        slings: who said when that she is in them.
    """
    began_ms = versions[-1].from_ms if slings is None else slings.at_ms
    later = [v.vessel for v in versions if v.from_ms > began_ms]
    before = [v.vessel for v in versions if v.from_ms <= began_ms]
    return [*before[-1:], *later]


def bilge_sensors(records: Iterable[Vessel]) -> tuple[str, ...]:
    """Give the sensors that would see water."""
    bilges = (bilge for record in records for bilge in record.bilges)
    found = (s for bilge in bilges for s in (bilge.level_sensor, bilge.float_sensor) if s is not None)
    return tuple(dict.fromkeys(found))


def unwatched(record: Vessel) -> tuple[str, ...]:
    """Name the compartments that no sensor sees into."""
    return tuple(b.name for b in record.bilges if b.level_sensor is None and b.float_sensor is None)


def dryness(
    record: Vessel, records: Sequence[Vessel], words: Sequence[GateWord], heard: Mapping[str, Sequence[Point]]
) -> Dryness:
    """Say how it stands with the ten minutes.

    Args:
        record: the valid record.
        records: all that were valid since she is in the slings.
        words: what was said at the gate this spring, oldest first.
        heard: what each bilge sensor has said since she is in the slings, oldest first.

    Water at a sensor counts for more than a person's word: who mended the cause says anew that she is in the slings.
    """
    slings = slings_from(words)
    sensors, blind = bilge_sensors([record]), unwatched(record)
    if slings is None:
        return Dryness(Dry.NOT_IN_SLINGS, has_sensors=bool(sensors), unwatched=blind)
    after = {sensor: [p for p in heard.get(sensor, ()) if p.at_ms >= slings.at_ms] for sensor in bilge_sensors(records)}
    settled = [_settled_ms(after.get(sensor, ())) for sensor in sensors]
    dry_ms = max((at for at in settled if at is not None), default=None) if None not in settled else None
    person = next((w for w in words if _counts(w, slings)), None)
    by_sensors = dry_ms is not None and not blind
    at_ms = dry_ms if by_sensors else None if person is None else person.at_ms
    # Once she floats by her record the slings are off: what comes then is for the bilge's alerts.
    to_ms = at_ms if is_afloat(record) else None
    for sensor, points in after.items():
        wet, rose_mm = _water(records, sensor, [p for p in points if to_ms is None or p.at_ms <= to_ms])
        if wet:
            return Dryness(Dry.WATER, slings, sensor=sensor, rose_mm=rose_mm, has_sensors=True, unwatched=blind)
    if by_sensors:
        return Dryness(Dry.BY_SENSORS, slings, at_ms, has_sensors=True)
    unheard = tuple(sensor for sensor in sensors if not after.get(sensor))
    how = Dry.WAITING if person is None else Dry.BY_PERSON
    return Dryness(how, slings, at_ms, person=person, unheard=unheard, has_sensors=bool(sensors), unwatched=blind)


def _counts(word: GateWord, slings: GateWord) -> bool:
    """Say whether somebody's word that she is dry is about ten minutes of these slings."""
    began_ms = word.from_ms
    return word.act is GateAct.DRY and began_ms is not None and slings.at_ms <= began_ms <= word.at_ms - DRY_MS


def _settled_ms(points: Sequence[Point]) -> int | None:
    """Give when a sensor had been heard over ten minutes with nothing in doubt, None where it has not."""
    sound = [p.at_ms for p in points if p.sound]
    return next((at_ms for at_ms in sound if at_ms - sound[0] >= DRY_MS), None)


def _water(records: Sequence[Vessel], sensor: str, points: Sequence[Point]) -> tuple[bool, float | None]:
    """Say whether a sensor says water, and for a level by how much it rose (mm)."""
    if not points:
        return False, None
    highest = max(p.high for p in points)
    bilges = [bilge for record in records for bilge in record.bilges]
    if any(bilge.float_sensor == sensor for bilge in bilges):
        return highest > 0.0, None
    known = next((found for record in reversed(records) if (found := record.sensor(sensor)) is not None), None)
    error_m = 0.0 if known is None else known.accuracy
    high_m = min(bilge.high_m for bilge in bilges if bilge.level_sensor == sensor)
    rose_m = highest - points[0].low
    return rose_m > error_m or highest >= high_m, round(rose_m * MM_PER_M)
