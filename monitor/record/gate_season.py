"""Which versions of her record belong to the winter that the gate ends, and since when it counts.

A day of lay-up is a figure that somebody writes: moved, it takes nothing off the list. What the winter did counts from
the earliest lay-up that any of its versions has, what people said from the latest.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

from monitor.model.vessel import Mode, Vessel
from monitor.model.views import StoredRecord

_MS = timedelta(milliseconds=1)
OTHER_WINTER_MS = timedelta(days=300) // _MS
"""Lay-ups further apart are those of two winters, though nobody wrote that she was launched between them."""

_LAUNCHED = frozenset({Mode.IN_COMMISSION, Mode.FIRST_24_H_AFLOAT})


@dataclass(frozen=True, slots=True)
class Season:
    """A winter of her record.

    Attributes:
        versions: those that belong to it, oldest first.
        from_ms: its earliest lay-up, ms UTC: alerts and readings count from here on.
        said_from_ms: its latest: what was said at the gate before belongs to an earlier spring.
    """

    versions: tuple[StoredRecord, ...]
    from_ms: int
    said_from_ms: int

    @property
    def record(self) -> Vessel:
        """Give the valid record."""
        return self.versions[-1].vessel


def laid_up_ms(record: Vessel) -> int:
    """Give when she was laid up, ms UTC."""
    return round(record.laid_up.timestamp() * 1000)


def season_of(versions: Sequence[StoredRecord], now_ms: int) -> Season:
    """Find the winter that the valid version is of.

    Args:
        versions: all of her record's, newest first, at least one.
        now_ms: event time now; a lay-up that is still to come is a slip of the pen, and moves nothing.
    """
    found = [versions[0]]
    latest_ms = _said_ms(versions[0], now_ms)
    for older in versions[1:]:
        launched = older.vessel.mode in _LAUNCHED and latest_ms > older.from_ms
        if launched or laid_up_ms(older.vessel) + OTHER_WINTER_MS <= latest_ms:
            break
        found.append(older)
        latest_ms = max(latest_ms, _said_ms(older, now_ms))
    return Season(tuple(reversed(found)), min(laid_up_ms(v.vessel) for v in found), latest_ms)


def _said_ms(stored: StoredRecord, now_ms: int) -> int:
    at_ms = laid_up_ms(stored.vessel)
    return at_ms if at_ms <= now_ms else min(stored.from_ms, now_ms)
