"""Readings as Apache Arrow or Parquet, a row group at a time: a winter of them is never in memory.

The columns are typed, and hold the same figures as the CSV of `lines`: times are ms UTC, what repeats is a dictionary.
"""

from collections.abc import Iterable, Iterator
from importlib import import_module
from itertools import islice
from typing import IO, Any

from monitor.model.equipment import Sensor
from monitor.model.scale import Flag
from monitor.model.vessel import Vessel
from monitor.model.views import ReadingView, Said

FORMATS = ("arrow", "parquet")
ROWS_A_GROUP = 65_536
"""Some 5 MB: whole to a reader of columns, and small beside everything else in memory."""
_KINDS = ("reading", "hour mean")
_QUALITIES = tuple(flag.name.lower().replace("_", " ") for flag in Flag)
_FLAGS = tuple(Flag)

Row = tuple[int, Said]
"""Which sensor of the record it is, and what that said."""


class ArrowMissingError(Exception):
    """pyarrow is not installed; what to do stands in the words."""


def arrow() -> Any:  # noqa: ANN401 - pyarrow carries no types, and need not be there
    """Give pyarrow.

    Raises:
        ArrowMissingError: where it is not installed.
    """
    try:
        return import_module("pyarrow")
    except ModuleNotFoundError as error:
        raise ArrowMissingError(
            "Arrow and Parquet are written by pyarrow, which is not installed: pip install 'coldberth[arrow]', "
            "or in a checkout .venv/bin/pip install -e '.[arrow]'. CSV and JSON need nothing more."
        ) from error


def write_readings(
    file: IO[bytes], form: str, readings: ReadingView, vessel: Vessel, from_ms: int | None, to_ms: int
) -> int:
    """Write what all of a vessel's sensors said, sensor by sensor, each oldest first; give how many rows.

    Args:
        file: where to; nothing is ever read back from it.
        form: *arrow* (the IPC file) or *parquet*.
        readings: what sensors said.
        vessel: whose.
        from_ms: from which stated time on, None is the first.
        to_ms: before which.

    Raises:
        ArrowMissingError: where pyarrow is not installed.
    """
    pa = arrow()
    schema, written = _schema(pa), 0
    with _writer(pa, form, file, schema) as writer:
        for rows in _groups(readings, vessel, from_ms, to_ms):
            writer.write_batch(_batch(pa, schema, vessel, rows))
            written += len(rows)
    return written


def _schema(pa: Any) -> Any:  # noqa: ANN401 - pyarrow carries no types
    word, time = pa.dictionary(pa.int16(), pa.string()), pa.timestamp("ms", tz="UTC")
    return pa.schema(
        [
            pa.field("vessel", word, nullable=False),
            pa.field("sensor", word, nullable=False),
            pa.field("quantity", word, nullable=False),
            pa.field("unit", word, nullable=False),
            pa.field("kind", word, nullable=False),
            pa.field("time", time, nullable=False),
            pa.field("value", pa.float64()),
            pa.field("low", pa.float64()),
            pa.field("high", pa.float64()),
            pa.field("count", pa.int32(), nullable=False),
            pa.field("flag", pa.int8(), nullable=False),
            pa.field("quality", word, nullable=False),
            pa.field("arrived", time),
            pa.field("clock_fault", pa.bool_(), nullable=False),
            pa.field("may_be_old", pa.bool_(), nullable=False),
            pa.field("late", pa.bool_(), nullable=False),
        ]
    )


def _writer(pa: Any, form: str, file: IO[bytes], schema: Any) -> Any:  # noqa: ANN401 - pyarrow carries no types
    if form == "parquet":
        return import_module("pyarrow.parquet").ParquetWriter(file, schema, compression="zstd")
    return pa.ipc.new_file(file, schema)


def _groups(readings: ReadingView, vessel: Vessel, from_ms: int | None, to_ms: int) -> Iterator[list[Row]]:
    rows = _rows(readings, vessel, from_ms, to_ms)
    while group := list(islice(rows, ROWS_A_GROUP)):
        yield group


def _rows(readings: ReadingView, vessel: Vessel, from_ms: int | None, to_ms: int) -> Iterator[Row]:
    for number, sensor in enumerate(vessel.sensors):
        for said in readings.said(vessel.id, sensor.id, from_ms, to_ms):
            yield number, said


def _batch(pa: Any, schema: Any, vessel: Vessel, rows: list[Row]) -> Any:  # noqa: ANN401 - pyarrow carries no types
    # An Arrow file takes one dictionary a column: each group gets the whole of what the record can need.
    sensors: tuple[Sensor, ...] = vessel.sensors
    numbers, said = [number for number, _ in rows], [one for _, one in rows]

    def words(indices: Iterable[int], known: Iterable[str]) -> Any:  # noqa: ANN401 - pyarrow carries no types
        return pa.DictionaryArray.from_arrays(pa.array(indices, pa.int16()), pa.array(list(known), pa.string()))

    columns = {
        "vessel": words([0] * len(rows), [vessel.id]),
        "sensor": words(numbers, [s.id for s in sensors]),
        "quantity": _of_sensors(words, numbers, [s.quantity.value for s in sensors]),
        "unit": _of_sensors(words, numbers, [s.unit for s in sensors]),
        "kind": words([int(one.hour) for one in said], _KINDS),
        "time": [one.stated_ms for one in said],
        "value": [one.value for one in said],
        "low": [one.low for one in said],
        "high": [one.high for one in said],
        "count": [one.count for one in said],
        "flag": [int(one.flag) for one in said],
        "quality": words([_FLAGS.index(one.flag) for one in said], _QUALITIES),
        "arrived": [one.arrived_ms for one in said],
        "clock_fault": [one.clock_fault for one in said],
        "may_be_old": [not one.news for one in said],
        "late": [one.late for one in said],
    }
    arrays = [
        column if isinstance(column, pa.Array) else pa.array(column, schema.field(name).type)
        for name, column in columns.items()
    ]
    return pa.record_batch(arrays, schema=schema)


def _of_sensors(words: Any, numbers: list[int], texts: list[str]) -> Any:  # noqa: ANN401 - pyarrow carries no types
    known = list(dict.fromkeys(texts))
    places = [known.index(text) for text in texts]
    return words([places[number] for number in numbers], known)
