"""How each liquid system stood through a winter, version by version of her record: proven to what, and till when.

A system that was wet in December froze as a wet one, whatever her record says of it in spring; and one that is filled
in spring was treated when it was cold.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from monitor.model.vessel import Vessel
from monitor.model.views import StoredRecord
from monitor.record.gate_spans import spans
from monitor.rules.frost_point import system_point


@dataclass(frozen=True, slots=True)
class Stood:
    """A system that can freeze, over a span in which nothing of it changed.

    Attributes:
        system: its id.
        name: its name.
        how: how it was left.
        freeze_degc: where it freezes.
        error_k: the error of its tester.
        sensor: the thermometer that it is watched by.
        stands_in: whether that is the outside air's, for want of its own.
        from_ms: since when.
        to_ms: till when.
    """

    system: str
    name: str
    how: str
    freeze_degc: float
    error_k: float
    sensor: str
    stands_in: bool
    from_ms: int
    to_ms: int


@dataclass(frozen=True, slots=True)
class Cold:
    """How cold a system was while it stood so.

    Attributes:
        stood: how it stood.
        lowest_degc: the lowest believable reading of its thermometer.
        last_ms: the last hour in which it was at or below its protection, less its tester's error; None where never.
    """

    stood: Stood
    lowest_degc: float
    last_ms: int | None


def stood(versions: Sequence[StoredRecord], from_ms: int, to_ms: int) -> Iterator[Stood]:
    """Go through every system of every version, each span once: those that are drained and probed cannot freeze.

    Args:
        versions: the winter's, oldest first; the first holds from the beginning.
        from_ms: since when it is looked at.
        to_ms: till when.
    """
    for thing, begin, end in spans(versions, from_ms, to_ms, _of):
        yield replace(thing, from_ms=begin, to_ms=end)


def cold(one: Stood, lows: Iterable[tuple[int, float]]) -> Cold | None:
    """Say how cold a system was, None where its thermometer was not heard.

    Args:
        one: how it stood.
        lows: the lowest believable reading of each hour of its span, as (ms UTC, degC).
    """
    heard = list(lows)
    if not heard:
        return None
    limit_degc = one.freeze_degc + one.error_k
    return Cold(one, min(low for _, low in heard), max((at for at, low in heard if low <= limit_degc), default=None))


def _of(record: Vessel) -> Iterator[tuple[str, Stood]]:
    for system in record.liquid_systems:
        point, sensor = system_point(system), system.sensor or record.outside_sensor
        if point is None or sensor is None:
            continue
        how, freeze_degc, error_k = point
        yield system.id, Stood(system.id, system.name, how, freeze_degc, error_k, sensor, system.sensor is None, 0, 0)
