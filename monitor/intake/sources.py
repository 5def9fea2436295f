"""The ``sources`` table: any other sensor's topic and JSON, taken in by a row of settings and no code."""

import re
from collections.abc import Callable, Mapping
from functools import cached_property
from typing import Annotated, Any, Literal, Self

from jsonpointer import JsonPointer, JsonPointerException
from pydantic import BaseModel, ConfigDict, Field, field_validator, model_validator
from pydantic_core import from_json

from monitor.intake.bare import bare_number, text_of
from monitor.intake.channel import SECONDARY, Channel, channel
from monitor.intake.refusal import Refusal
from monitor.intake.times import absolute_ms, iso_ms
from monitor.model.parcel import RawReading, RejectReason
from monitor.model.quantity import SPANS

Finite = Annotated[float, Field(allow_inf_nan=False)]
# A record's id, or the number of a level of the topic in braces, the first being {1}.
Place = Annotated[str, Field(pattern=r"^(?:[a-z0-9][a-z0-9-]{0,47}|\{[1-9][0-9]?\})$")]
Channels = Callable[[str], Mapping[str, Channel]]

UNITS = frozenset(span.unit for span in SPANS.values()) | {unit for row in SECONDARY.values() for unit in row}
_MISSING = object()


class Source(BaseModel):
    """One row of the table: where a value stands, whose it is, and in what unit.

    The value taken in is ``number * scale + offset``, in ``unit``; with no unit it is in the sensor's own. An empty
    ``pointer`` means that the payload itself is the number. Several rows may read one topic.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)

    topic: Annotated[str, Field(min_length=1, max_length=1000)]
    vessel: Place
    sensor: Place
    pointer: str = ""
    unit: str | None = None
    scale: Finite = 1.0
    offset: Finite = 0.0
    time_pointer: str | None = None
    time_unit: Literal["s", "ms", "iso8601"] = "s"

    @field_validator("topic")
    @classmethod
    def _is_a_filter(cls, topic: str) -> str:
        levels = topic.split("/")
        if topic.startswith("$"):
            raise ValueError(f"topics that start with $ are the broker's own or shared: {topic!r} cannot be a source")
        if "#" in "".join(levels[:-1]) or ("#" in levels[-1] and levels[-1] != "#"):
            raise ValueError(f"in {topic!r} the wildcard # must stand alone as the last level")
        if any("+" in level and level != "+" for level in levels):
            raise ValueError(f"in {topic!r} the wildcard + must stand alone between slashes")
        if "\0" in topic:
            raise ValueError("a topic cannot hold the character NUL")
        return topic

    @field_validator("pointer", "time_pointer")
    @classmethod
    def _is_a_pointer(cls, pointer: str | None) -> str | None:
        try:
            JsonPointer(pointer or "")
        except JsonPointerException as error:
            raise ValueError(f"{pointer!r} is not a JSON Pointer such as /values/0 ({error})") from error
        return pointer

    @field_validator("unit")
    @classmethod
    def _is_a_unit(cls, unit: str | None) -> str | None:
        if unit is not None and unit not in UNITS:
            raise ValueError(f"unit {unit!r} is not one of {', '.join(sorted(UNITS))}; bring others to one by scale")
        return unit

    @field_validator("scale")
    @classmethod
    def _is_not_zero(cls, scale: float) -> float:
        if scale == 0:
            raise ValueError("a scale of 0 makes every value the same")
        return scale

    @model_validator(mode="after")
    def _holds_together(self) -> Self:
        if self.time_pointer is not None and not (self.pointer and self.time_pointer):
            raise ValueError(
                "time_pointer needs a pointer beside it, and neither may be empty: a bare number has no time"
            )
        levels = self.topic.split("/")
        for key, place in (("vessel", self.vessel), ("sensor", self.sensor)):
            number = _level_number(place)
            if number is not None and number > len(levels) and levels[-1] != "#":
                raise ValueError(f"{key} {place!r} asks for a level that {self.topic!r} does not have")
        return self

    @cached_property
    def value_at(self) -> JsonPointer:
        """Where the value stands."""
        return JsonPointer(self.pointer)

    @cached_property
    def time_at(self) -> JsonPointer | None:
        """Where the time stands."""
        return None if self.time_pointer is None else JsonPointer(self.time_pointer)


class Message:
    """A payload that several rows read from: taken apart once."""

    def __init__(self, topic: str, payload: bytes) -> None:
        self.levels = topic.split("/")
        self.payload = payload

    @cached_property
    def document(self) -> Any:  # noqa: ANN401 - any JSON value
        """The payload as JSON.

        Raises:
            Refusal: where it is none.
        """
        try:
            return from_json(self.payload, allow_inf_nan=True)
        except ValueError as error:
            raise Refusal(RejectReason.MALFORMED, f"not JSON: {error}") from error

    def level(self, place: str) -> str:
        """Give what a row names: itself, or a level of the topic where it is a number in braces.

        Raises:
            Refusal: where the topic has no such level.
        """
        number = _level_number(place)
        if number is None:
            return place
        if number > len(self.levels):
            raise Refusal(RejectReason.UNKNOWN_TOPIC, f"the topic has no level {place}")
        return self.levels[number - 1]


def read_with_source(source: Source, message: Message, channels: Channels) -> RawReading:
    """Read one value as a row of the table says.

    Args:
        source: the row.
        message: a message whose topic the row matches.
        channels: gives a vessel's channels by her id, or raises a `Refusal`.

    Raises:
        Refusal: where it cannot be read.
    """
    vessel = message.level(source.vessel)
    known = channel(channels(vessel), message.level(source.sensor))
    found = text_of(message.payload) if not source.pointer else _find(source.value_at, message, RejectReason.MALFORMED)
    value = known.number(_number(found, known) * source.scale + source.offset, source.unit)
    if source.time_at is None:
        return RawReading(vessel, known.sensor, value)
    stated = _find(source.time_at, message, RejectReason.WRONG_TIME)
    return RawReading(vessel, known.sensor, value, _stated_ms(stated, source.time_unit))


def _level_number(place: str) -> int | None:
    match = re.fullmatch(r"\{(\d+)\}", place)
    return int(match[1]) if match else None


def _find(pointer: JsonPointer, message: Message, reason: RejectReason) -> Any:  # noqa: ANN401 - any JSON value
    try:
        found = pointer.resolve(message.document, _MISSING)
    except JsonPointerException as error:
        raise Refusal(reason, f"no {pointer.path} in the message ({error})") from error
    if found is _MISSING:
        raise Refusal(reason, f"no {pointer.path} in the message")
    return found


def _number(found: Any, known: Channel) -> float:  # noqa: ANN401 - any JSON value
    if isinstance(found, bool):
        return known.switch(found)
    if isinstance(found, str):
        return bare_number(found.strip(), known)
    if isinstance(found, int | float):
        try:
            return float(found)
        except OverflowError:
            found = "a number beyond all bounds"
    raise Refusal(RejectReason.NOT_A_NUMBER, f"{known.sensor}: {repr(found)[:40]} where a number is wanted")


def _stated_ms(stated: Any, unit: str) -> int:  # noqa: ANN401 - any JSON value
    if unit == "iso8601" and isinstance(stated, str):
        return iso_ms(stated)
    if unit != "iso8601" and isinstance(stated, int | float) and not isinstance(stated, bool):
        try:
            return absolute_ms(stated / 1000 if unit == "ms" else float(stated))
        except OverflowError as error:
            raise Refusal(RejectReason.WRONG_TIME, "a time beyond all bounds") from error
    wanted = "an ISO 8601 text" if unit == "iso8601" else f"a number of {unit}"
    raise Refusal(RejectReason.WRONG_TIME, f"time {repr(stated)[:40]} where {wanted} is wanted")
