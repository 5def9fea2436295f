"""A winter's messages as they go over the wire: topic and payload of each."""

import json
from collections.abc import Sequence

from monitor.intake.senml import ABSOLUTE_FROM_S, encode_pack
from monitor.intake.topics import Topics
from monitor.model.parcel import ClockMessage
from monitor.model.quantity import SPANS, Quantity
from simulator.gateway import PackReading
from simulator.winter import ForecastIssued, Message, Pack

# A time before this (1978) is no date to SenML, but so long after now.
RELATIVE_BELOW_MS = (ABSOLUTE_FROM_S + 1) * 1000
_SOME_DATE_MS = 2 * RELATIVE_BELOW_MS
_DEGC = SPANS[Quantity.TEMPERATURE].unit


class Wire:
    """Writes a yard's messages.

    Attributes:
        topics: the yard's topics.
        shift_ms: how far all times are moved; a clock that stands in the seventies is left where it is.
    """

    def __init__(self, yard: str, shift_ms: int = 0) -> None:
        self.topics = Topics(yard)
        self.shift_ms = shift_ms

    def write(self, message: Message) -> tuple[str, bytes] | None:
        """Give topic and payload; None for what does not go over MQTT (a new version of a record)."""
        match message:
            case Pack():
                return self.topics.readings(message.vessel), pack_bytes(self._moved(message.readings))
            case ClockMessage():
                return self.topics.clock, str(message.at_ms + self.shift_ms).encode()
            case ForecastIssued():
                hours = [(Quantity.TEMPERATURE.value, _DEGC, at_ms, degc) for at_ms, degc in message.hours]
                return self.topics.forecast, pack_bytes(self._moved(hours))
            case _:
                return None

    def _moved(self, readings: Sequence[PackReading]) -> Sequence[PackReading]:
        shift_ms = self.shift_ms
        if not shift_ms or readings[0][2] < RELATIVE_BELOW_MS:
            return readings
        return [(sensor, unit, at_ms + shift_ms, value) for sensor, unit, at_ms, value in readings]


def pack_bytes(readings: Sequence[PackReading]) -> bytes:
    """Write a pack, that of a gateway whose clock has lost the time too.

    Such a clock counts from 1970. SenML (RFC 8428, 4.5.3) takes times below 2**28 s as counted from now: an hour after
    its start a gateway says *in an hour*. That is what comes over the wire from a real one, so it is what we write.

    Args:
        readings: sensor, unit, stated time (ms UTC), value; all by one clock.
    """
    stated_ms = readings[0][2]
    if stated_ms >= RELATIVE_BELOW_MS:
        return encode_pack(readings)
    told = [(sensor, unit, at_ms - stated_ms + _SOME_DATE_MS, value) for sensor, unit, at_ms, value in readings]
    records = json.loads(encode_pack(told))
    records[0]["bt"] = stated_ms / 1000
    return json.dumps(records, separators=(",", ":")).encode()
