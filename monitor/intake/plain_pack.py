"""The plainest form of a SenML pack, which nearly all of them have, read in one go.

What it reads, `monitor.intake.senml` reads to the same (held against it in the tests). Whatever wants a closer look, be
it wrong or only rare, it leaves alone.
"""

from collections.abc import Mapping
from typing import Any

from pydantic_core import from_json

from monitor.intake.channel import LARGEST, Channel
from monitor.intake.times import ABSOLUTE_FROM_S, END_MS, END_S, time_order
from monitor.model.parcel import RawReading

MOST_RECORDS = 4_000  # the least that names a sensor, a value and a time has 22 bytes: 64 KiB hold 3,000 of those
_BASES = frozenset({"bn", "bt", "bu"})
_KNOWN = _BASES | {"n", "u", "t", "v", "vb"}
_WHOLE = 2**53  # up to here a float holds every whole number


def read_plain_pack(payload: bytes, channels: Mapping[str, Channel]) -> list[RawReading] | None:
    """Read a pack of numbers and switches with absolute times, each in its sensor's own unit.

    Args:
        payload: the message.
        channels: what may be heard from, by sensor id.

    Returns:
        Its readings in time order; None where it is not wholly so.
    """
    readings: list[RawReading] = []
    bn, bt, bu, newest_ms, sorts = "", 0.0, None, 0, False
    for record in _records(payload):
        if type(record) is not dict or not record.keys() <= _KNOWN or None in record.values():
            return None
        get = record.get
        bn, bt, bu = get("bn", bn), get("bt", bt), get("bu", bu)
        if type(bn) is not str or not _is_number(bt) or (bu is not None and type(bu) is not str):
            return None
        if "v" in record or "vb" in record:
            reading = _reading(record, bn, bt, bu, channels)
            if reading is None or reading.stated_ms is None:
                return None
            sorts = sorts or reading.stated_ms < newest_ms
            newest_ms = reading.stated_ms
            readings.append(reading)
        elif not record.keys() <= _BASES:
            return None
    if sorts:
        readings.sort(key=time_order)
    return readings or None


def _records(payload: bytes) -> list[Any]:
    try:
        records = from_json(payload)
    except ValueError:
        return []
    return records if type(records) is list and len(records) <= MOST_RECORDS else []


def _reading(
    record: dict[str, Any], bn: str, bt: float, bu: str | None, channels: Mapping[str, Channel]
) -> RawReading | None:
    get = record.get
    name, time, unit = get("n", ""), get("t", 0.0), get("u", bu)
    if type(name) is not str or not _is_number(time):
        return None
    known = channels.get((bn + name).replace(":", "/").rpartition("/")[2])
    if known is None or (unit is not None and unit != known.unit):
        return None
    value = _switched(record, known) if "vb" in record else _number(record["v"], known)
    seconds = float(bt) + time
    if value is None or not ABSOLUTE_FROM_S <= seconds < END_S:
        return None
    stated_ms = round(seconds * 1000)
    return RawReading(known.vessel, known.sensor, value, stated_ms) if stated_ms < END_MS else None


def _switched(record: dict[str, Any], known: Channel) -> float | None:
    found = record["vb"]
    if type(found) is not bool or "v" in record or not known.is_switch:
        return None
    return 1.0 if found else 0.0


def _number(found: Any, known: Channel) -> float | None:  # noqa: ANN401 - any JSON value
    if not _is_number(found) or not -LARGEST <= found <= LARGEST or (known.is_switch and found not in _SWITCHED):
        return None
    number: float = 0.0 + found  # -0.0 becomes 0.0, as it does where a base value of nothing is added
    return number


def _is_number(found: object) -> bool:
    return type(found) is float or (type(found) is int and -_WHOLE <= found <= _WHOLE)


_SWITCHED = (0.0, 1.0)
