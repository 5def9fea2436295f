"""What comes off the wire, before it is given its place in the journal: one parcel a message."""

from dataclasses import dataclass, field
from enum import StrEnum


class RejectReason(StrEnum):
    """Why a message or a part of it could not be used."""

    MALFORMED = "malformed"
    OVERSIZED = "oversized"
    UNKNOWN_TOPIC = "unknown topic"
    UNKNOWN_VESSEL = "unknown vessel"
    UNKNOWN_SENSOR = "unknown sensor"
    WRONG_UNIT = "wrong unit"
    NOT_A_NUMBER = "not a number"
    WRONG_TIME = "wrong time"


@dataclass(slots=True)
class RawReading:
    """A value as it came. Never changed, and not frozen only since that would cost more than all else of its making.

    Attributes:
        stated_ms: the stated time (ms UTC), None where the sensor stated none and arrival counts.
        offset_ms: with no stated time, how far the value lies from arrival (a relative SenML time; negative is past).
    """

    vessel: str
    sensor: str
    value: float
    stated_ms: int | None = None
    offset_ms: int = 0


@dataclass(frozen=True, slots=True)
class Reject:
    """A message, or a part of one, that could not be used: why, and enough of it to recognise it by."""

    reason: RejectReason
    topic: str
    detail: str


@dataclass(frozen=True, slots=True)
class ClockMessage:
    """A clock message of the ordered stream (demo and replay), ms UTC."""

    at_ms: int


@dataclass(frozen=True, slots=True)
class ForecastMessage:
    """Outside air foretold for the yard: (time ms UTC, degC) pairs."""

    hours: tuple[tuple[int, float], ...]


@dataclass(frozen=True, slots=True)
class Marker:
    """Our own marker message come back: everything queued before it has been heard."""

    nonce: str


@dataclass(slots=True)
class Parcel:
    """One message: what was in it, and what the broker needs for its acknowledgement.

    Attributes:
        mid: message id.
        qos: quality of service it came with.
        session: number of the connection it came on; an acknowledgement is only good on the same one.
        retained: whether the broker had kept it.
        topic: its topic.
        readings: the usable values, in time order.
        rejects: what could not be used.
        clock: a clock message.
        marker: a marker of ours.
        forecast: a weather forecast.
        held_bytes: about how much memory it holds until it is committed; noted by whoever hands it on.
    """

    mid: int
    qos: int
    session: int
    retained: bool
    topic: str
    readings: list[RawReading] = field(default_factory=list)
    rejects: list[Reject] = field(default_factory=list)
    clock: ClockMessage | None = None
    marker: Marker | None = None
    forecast: ForecastMessage | None = None
    held_bytes: int = 0
