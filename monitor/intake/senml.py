"""SenML packs in JSON (RFC 8428), read and written.

A record that cannot be used is refused alone, and what is good in the same pack is kept. The whole pack is refused
where the RFC says so: broken JSON, no array, a version above 10, a field that must be understood and is not.
"""

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from pydantic import ConfigDict, TypeAdapter, ValidationError, with_config
from pydantic_core import from_json
from typing_extensions import TypedDict

from monitor.intake.channel import Channel, channel
from monitor.intake.plain_pack import MOST_RECORDS, read_plain_pack
from monitor.intake.refusal import Refusal
from monitor.intake.times import ABSOLUTE_FROM_S as ABSOLUTE_FROM_S  # noqa: PLC0414 - part of the form, for whoever writes it
from monitor.intake.times import END_S, absolute_ms, time_order
from monitor.model.parcel import RawReading, RejectReason

VERSION = 10  # RFC 8428 section 4.4: the version of this specification
MOST_REFUSALS = 20  # of one message: 64 KiB can hold 30,000 bad records, and the table of rejects is for people


@with_config(ConfigDict(strict=True, extra="allow", allow_inf_nan=False))
class Record(TypedDict, total=False):
    """A SenML record (RFC 8428 table 1). Fields it does not name are kept, to find those that must be understood."""

    bn: str
    bt: float
    bu: str
    bv: float
    bs: float
    bver: float
    n: str
    u: str
    v: float
    vs: str
    vb: bool
    vd: str
    s: float
    t: float
    ut: float


FIELDS: Final = frozenset(Record.__annotations__)
BASE_FIELDS: Final = ("bn", "bt", "bu", "bv", "bver")  # those a reading can rest on; a base sum is not read
_VALUES: Final = ("v", "vb", "vs", "vd")
_REASONS: Final = {"t": RejectReason.WRONG_TIME, "bt": RejectReason.WRONG_TIME, "v": RejectReason.NOT_A_NUMBER}

_PACK = TypeAdapter(list[Record])
_RECORD = TypeAdapter(Record)


@dataclass(slots=True)
class Decoded:
    """What a pack held: readings in time order, and what could not be used."""

    readings: list[RawReading] = field(default_factory=list)
    refusals: list[Refusal] = field(default_factory=list)


@dataclass(slots=True)
class _Faulty:
    """A record with a fault: why, the base fields in it that are good, and the names of those that are not."""

    refusal: Refusal
    good: Record
    lost: frozenset[str]


@dataclass(slots=True)
class _Bases:
    """The base fields in force: each holds until a later record changes it (section 4.1)."""

    bn: str = ""
    bt: float = 0.0
    bu: str | None = None
    bv: float = 0.0
    lost: set[str] = field(default_factory=set)

    def take(self, record: Record) -> None:
        """Put the base fields of a record into force."""
        self.bn = record.get("bn", self.bn)
        self.bt = record.get("bt", self.bt)
        self.bu = record.get("bu", self.bu)
        self.bv = record.get("bv", self.bv)
        if self.lost:
            self.lost.difference_update(record)

    def reading(self, record: Record, channels: Mapping[str, Channel]) -> tuple[RawReading, Refusal | None]:
        """Resolve a record that has a value (section 4.6).

        Returns:
            The reading; and what was wrong with its time, where a switch is taken at arrival all the same: a float
            that is up is up, whatever its clock says.
        """
        if self.lost:
            raise Refusal(RejectReason.MALFORMED, f"rests on {', '.join(sorted(self.lost))}, not understood before it")
        name = self.bn + record.get("n", "")
        known = channel(channels, name.replace(":", "/").rpartition("/")[2])
        unit = record.get("u")
        if "v" in record:
            value = known.number(self.bv + record["v"], self.bu if unit is None else unit)
        elif "vd" in record:
            raise Refusal(RejectReason.NOT_A_NUMBER, f"{known.sensor}: data is not a reading")
        else:
            value = known.switch(record["vb"] if "vb" in record else record["vs"], unit)
        time = self.bt + record.get("t", 0.0)
        try:
            stated_ms, offset_ms = _stated(time)
        except Refusal as refusal:
            doubt = Refusal(refusal.reason, f"{known.sensor}: {refusal.detail}")
            if not known.is_switch:
                raise doubt from refusal
            return RawReading(known.vessel, known.sensor, value), doubt
        return RawReading(known.vessel, known.sensor, value, stated_ms, offset_ms), None


def _stated(time: float) -> tuple[int | None, int]:
    """Give an absolute time (ms UTC), or None and how far a relative one lies from arrival (ms)."""
    if time >= ABSOLUTE_FROM_S:
        return absolute_ms(time), 0
    if time <= -ABSOLUTE_FROM_S:
        raise Refusal(RejectReason.WRONG_TIME, f"{time!r} s from now is over eight years ago")
    return None, round(time * 1000)


def decode_pack(payload: bytes, channels: Mapping[str, Channel]) -> Decoded:
    """Read a pack.

    Args:
        payload: the message.
        channels: what may be heard from, by sensor id, which is what stands after the last ``/`` or ``:`` of a name.

    Raises:
        Refusal: where nothing in it can be used.
    """
    plain = read_plain_pack(payload, channels)
    return _decode_closely(payload, channels) if plain is None else Decoded(plain)


def _decode_closely(payload: bytes, channels: Mapping[str, Channel]) -> Decoded:
    decoded = Decoded()
    bases = _Bases()
    for number, record in enumerate(_records(payload), 1):
        try:
            if isinstance(record, _Faulty):
                bases.take(record.good)
                bases.lost |= record.lost
                raise record.refusal
            bases.take(record)
            if _has_value(record):
                reading, doubt = bases.reading(record, channels)
                decoded.readings.append(reading)
                if doubt is not None:
                    raise doubt
        except Refusal as refusal:
            decoded.refusals.append(Refusal(refusal.reason, f"record {number}: {refusal.detail}"))
    if not decoded.readings and not decoded.refusals:
        raise Refusal(RejectReason.MALFORMED, "no record of it states a value")
    decoded.readings.sort(key=time_order)
    if len(decoded.refusals) > MOST_REFUSALS:
        left = len(decoded.refusals) - MOST_REFUSALS
        more = Refusal(RejectReason.MALFORMED, f"{left} more records of the same pack could not be used")
        decoded.refusals[MOST_REFUSALS:] = [more]
    return decoded


def _has_value(record: Record) -> bool:
    """Whether a record states a value, as one that is not only base fields must."""
    count = ("v" in record) + ("vb" in record) + ("vs" in record) + ("vd" in record)
    if count == 1:
        return True
    if count > 1:
        raise Refusal(RejectReason.MALFORMED, f"states {', '.join(k for k in _VALUES if k in record)}: only one may be")
    if "s" in record:
        raise Refusal(RejectReason.MALFORMED, "a sum without a value is not a reading")
    if "n" in record or "u" in record or "t" in record or "ut" in record:
        raise Refusal(RejectReason.MALFORMED, "states no value")
    return False


def _records(payload: bytes) -> Sequence[Record | _Faulty]:
    try:
        records: Sequence[Record | _Faulty] = _PACK.validate_json(payload)
        _check_pack(records)
    except ValidationError:
        records = list(_one_by_one(payload))
    if not records:
        raise Refusal(RejectReason.MALFORMED, "an empty pack")
    _check_size(records)
    return records


def _check_size(records: Sequence[Any]) -> None:
    if len(records) > MOST_RECORDS:
        raise Refusal(RejectReason.OVERSIZED, f"{len(records)} records in one pack; {MOST_RECORDS} are taken")


def _one_by_one(payload: bytes) -> Iterator[Record | _Faulty]:
    try:
        items = from_json(payload, allow_inf_nan=True)
    except ValueError as error:
        raise Refusal(RejectReason.MALFORMED, f"not JSON: {error}") from error
    if not isinstance(items, list):
        raise Refusal(RejectReason.MALFORMED, "not SenML: a pack is a JSON array of records")
    _check_size(items)
    _check_pack([item for item in items if isinstance(item, dict)])
    for item in items:
        if not isinstance(item, dict):
            refusal = Refusal(RejectReason.MALFORMED, f"{repr(item)[:40]} is not a record")
            yield _Faulty(refusal, {}, frozenset())
            continue
        try:
            yield _RECORD.validate_python(item)
        except ValidationError as error:
            yield _faulty(item, error)


def _faulty(item: dict[str, Any], error: ValidationError) -> _Faulty:
    mistakes = error.errors(include_url=False, include_context=False)
    names = frozenset(str(m["loc"][0]) for m in mistakes)
    name, said, found = str(mistakes[0]["loc"][0]), mistakes[0]["msg"], mistakes[0]["input"]
    detail = f"{name}: {said[:1].lower()}{said[1:]}, not {repr(found)[:40]}"
    refusal = Refusal(_REASONS.get(name, RejectReason.MALFORMED), detail)
    good: Any = {k: item[k] for k in BASE_FIELDS if k in item and k not in names}
    return _Faulty(refusal, good, names.intersection(BASE_FIELDS))


def _check_pack(records: Sequence[Any]) -> None:
    """Refuse a pack that says it can only be read by somebody who knows more than RFC 8428."""
    for record in records:
        if "bver" in record and isinstance(record["bver"], int | float) and record["bver"] > VERSION:
            raise Refusal(
                RejectReason.MALFORMED, f"SenML version {record['bver']!r:.20}; {VERSION} is the newest known"
            )
        if not record.keys() <= FIELDS:
            unknown = sorted(key for key in record if key.endswith("_"))
            if unknown:
                raise Refusal(RejectReason.MALFORMED, f"field {unknown[0][:40]!r} must be understood, and is not")


def encode_pack(readings: Sequence[tuple[str, str, int, float]]) -> bytes:
    """Write a pack that `decode_pack` reads back to the same values and times.

    Args:
        readings: (sensor id, unit, Unix time in ms, value). With unit ``/`` the value is 0 or 1 and written as ``vb``.

    Raises:
        ValueError: no readings, a time that SenML would take as relative, a value that is not finite, a switch
            that is neither 0 nor 1.
    """
    if not readings:
        raise ValueError("a SenML pack has at least one record")
    base_ms = readings[0][2]
    records: list[dict[str, Any]] = []
    for sensor, unit, ms, value in readings:
        if not (ABSOLUTE_FROM_S + 1) * 1000 <= ms < END_S * 1000:  # a second of room: times are sums of two floats
            raise ValueError(f"{sensor}: SenML cannot state the time {ms} ms; 1978-07-04 to 9999 is its range")
        record: dict[str, Any] = {"bt": base_ms / 1000} if not records else {}
        record |= {"n": sensor, "u": unit}
        if ms != base_ms:
            record["t"] = (ms - base_ms) / 1000
        if unit != "/":
            record["v"] = value
        elif value in {0, 1}:
            record["vb"] = bool(value)
        else:
            raise ValueError(f"{sensor}: a switch is 0 or 1, not {value!r}")
        records.append(record)
    return json.dumps(records, separators=(",", ":"), allow_nan=False).encode()
