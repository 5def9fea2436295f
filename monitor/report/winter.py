"""Which span a report is of: from her lay-up to her launch, or to now."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from monitor.model.vessel import Mode
from monitor.model.views import StoredRecord

JULY, SEPTEMBER = 7, 9
AFLOAT_AGAIN = frozenset({Mode.IN_COMMISSION, Mode.FIRST_24_H_AFLOAT})


class NoWinterError(ValueError):
    """There is nothing to report of that winter; the text says why."""


@dataclass(frozen=True, slots=True)
class Winter:
    """A winter of one vessel.

    Attributes:
        year: the year in whose autumn it begins.
        from_ms: its begin, ms UTC.
        to_ms: its end.
        begins: what the begin is, in words.
        ends: what the end is, in words.
        stored: the version of her record that was valid last before its end.
        versions: every version that was valid in it, oldest first.
        said_to_ms: till when what people said at her launch gate is of this spring.
    """

    year: int
    from_ms: int
    to_ms: int
    begins: str
    ends: str
    stored: StoredRecord
    versions: tuple[StoredRecord, ...]
    said_to_ms: int


def winter_of(versions: Sequence[StoredRecord], year: int | None, now_ms: int, zone: ZoneInfo) -> Winter:
    """Find a winter of a vessel.

    Args:
        versions: every version of her record, newest first.
        year: in whose autumn it begins; None takes that of her last lay-up.
        now_ms: event time now.
        zone: the yard's time zone.

    Raises:
        NoWinterError: where it has not begun, or she has no record.
    """
    if not versions:
        raise NoWinterError("she has no lay-up record")
    if year is None:
        year = _year_of(versions[0].vessel.laid_up.astimezone(zone))
    first_ms, last_ms = _start_ms(year, JULY, zone), _start_ms(year + 1, JULY, zone)
    laid_up = [ms for v in versions if first_ms <= (ms := round(v.vessel.laid_up.timestamp() * 1000)) < last_ms]
    from_ms, begins = (min(laid_up), "lay-up") if laid_up else (_start_ms(year, SEPTEMBER, zone), "1 September")
    if from_ms >= now_ms:
        raise NoWinterError(f"the winter that begins in {year} has not begun")
    # Launched and laid up again in the same winter, she has one winter, and it goes on.
    again_ms = max(laid_up, default=from_ms)
    launched = [
        v.from_ms for v in versions if again_ms < v.from_ms < min(last_ms, now_ms) and v.vessel.mode in AFLOAT_AGAIN
    ]
    ends = "launch" if launched else ("now" if now_ms <= last_ms else "30 June")
    to_ms = min([*launched, now_ms, last_ms])
    # A version of this very moment counts, but for a launch's: a stream's clock may stand still meanwhile.
    known = [v for v in versions if v.from_ms < to_ms or (v.from_ms == to_ms and not launched)] or [versions[-1]]
    within = [v for v in known if v.from_ms >= from_ms]
    before = [v for v in known if v.from_ms < from_ms][:1]
    # Where she was laid up before her new record came in, the summer's says nothing of how she lies.
    within += [v for v in before if not within or v.vessel.mode not in AFLOAT_AGAIN]
    said_to_ms = max(min(last_ms, now_ms), to_ms)
    return Winter(year, from_ms, to_ms, begins, ends, known[0], tuple(reversed(within)), said_to_ms)


def _year_of(at: datetime) -> int:
    return at.year if at.month >= JULY else at.year - 1


def _start_ms(year: int, month: int, zone: ZoneInfo) -> int:
    try:
        return round(datetime(year, month, 1, tzinfo=zone).timestamp() * 1000)
    except (ValueError, OverflowError) as error:
        raise NoWinterError(f"there is no winter {year}; write the year in whose autumn it begins") from error
