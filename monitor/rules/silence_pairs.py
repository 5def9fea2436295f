"""Two thermometers in one place that do not agree: one of them is wrong, and what hangs on it may be too.

One place is one text in the record. Nothing is suppressed: both are believed until somebody has looked.
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import combinations

from monitor.model.equipment import Sensor
from monitor.model.quantity import Quantity
from monitor.model.reading import Reading, Seen
from monitor.model.vessel import Vessel
from monitor.rules.rule import SECOND_MS
from monitor.rules.silence_limits import LIMITS


@dataclass(slots=True)
class Pair:
    """Two thermometers held against each other.

    Attributes:
        since_ms: since when they differ by more than they can, None while they agree.
        to_ms: when they were last compared.
    """

    since_ms: int | None = None
    to_ms: int = 0


@dataclass(slots=True)
class Places:
    """What is kept of thermometers that share a place: each one's last word, and each two's difference."""

    said: dict[str, Seen] = field(default_factory=dict)
    pairs: dict[str, Pair] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Odd:
    """A thermometer that differs, the other it differs from, and whether a third one bears the other out."""

    sensor: Sensor
    one: Seen
    other: Seen
    limit_k: float
    since_ms: int
    borne_out: bool


class Together:
    """The thermometers of a record that share a place.

    Attributes:
        sensors: their ids.
    """

    def __init__(self, record: Vessel) -> None:
        places: defaultdict[str, list[Sensor]] = defaultdict(list)
        for sensor in record.sensors:
            if sensor.quantity is Quantity.TEMPERATURE:
                places[" ".join(sensor.place.casefold().split())].append(sensor)
        self._groups = [group for group in places.values() if len(group) > 1]
        self._group_of = {s.id: group for group in self._groups for s in group}
        self.sensors = frozenset(self._group_of)

    def hear(self, places: Places, reading: Reading) -> None:
        """Take a believable reading, and hold it against the others of its place."""
        group = self._group_of.get(reading.sensor)
        if group is None:
            return
        at, value = reading.event_ms, reading.value
        places.said[reading.sensor] = Seen(reading.sensor, at, value)
        (this,) = (s for s in group if s.id == reading.sensor)
        for other in group:
            said = places.said.get(other.id)
            if other is this or said is None:
                continue
            pair = places.pairs.setdefault(_key(this, other), Pair())
            fresh = abs(at - said.at_ms) <= LIMITS["pair_fresh"] * max(this.interval_s, other.interval_s) * SECOND_MS
            if not fresh or abs(value - said.value) <= _limit_k(this, other):
                pair.since_ms = None
            elif pair.since_ms is None:
                pair.since_ms = at
            pair.to_ms = at

    @staticmethod
    def differ(places: Places) -> bool:
        """Say whether any two differ, for however short a time."""
        return any([pair.since_ms is not None for pair in places.pairs.values()])  # noqa: C419 - asked for each reading

    def odd(self, places: Places) -> Iterator[Odd]:
        """Give those that have differed for too long: of each place the one that stands alone, or the first of two."""
        for group in self._groups:
            apart = [(a, b, pair) for a, b in combinations(group, 2) if (pair := _apart(places, a, b)) is not None]
            if not apart:
                continue
            borne_out = len(apart) > 1 and len(apart) == len(group) - 1
            one, other, pair = apart[0]
            if borne_out:
                # All that differ differ from the same one, and the others agree.
                in_all = [s for s in (one, other) if all(s in (a, b) for a, b, _ in apart)]
                borne_out = bool(in_all)
                if in_all and in_all[0] is other:
                    one, other = other, one
            since_ms = max(p.since_ms or 0 for _, _, p in apart) if borne_out else pair.since_ms or 0
            said = places.said
            yield Odd(one, said[one.id], said[other.id], _limit_k(one, other), since_ms, borne_out)


def _apart(places: Places, one: Sensor, other: Sensor) -> Pair | None:
    pair = places.pairs.get(_key(one, other))
    if pair is None or pair.since_ms is None or pair.to_ms - pair.since_ms < LIMITS.ms("pair_after"):
        return None
    return pair


def _limit_k(one: Sensor, other: Sensor) -> float:
    return one.accuracy + other.accuracy + LIMITS["pair_room"]


def _key(one: Sensor, other: Sensor) -> str:
    return " ".join(sorted((one.id, other.id)))
