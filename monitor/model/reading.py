"""A reading, from the wire to the journal. Slotted dataclasses: hundreds of thousands of them pass through."""

from dataclasses import dataclass

from monitor.model.scale import Flag


@dataclass(slots=True)
class Reading:
    """One value of one sensor of one vessel.

    Its identity is (vessel, sensor, ``stated_ms``). Times are integer milliseconds UTC.

    Attributes:
        vessel: vessel id.
        sensor: sensor id, unique within the vessel.
        stated_ms: the time the sensor stated, even where that time is a fault; arrival where it stated none.
        event_ms: the time the reading is folded at: the stated time, or arrival where that was a clock fault.
        arrived_ms: when the agent took it in.
        value: in the sensor's unit; a switch is 1.0 (up, present) or 0.0.
        news: False where it may be old though it carries no time (retained, or bare before the marker returned):
            stored, and not taken as what the sensor says now.
        late: True where it is older than the sensor's newest when it came.
        clock_fault: True where the stated time was ahead by more than 5 minutes or before the lay-up.
        flag: quality, set by the watch.
    """

    vessel: str
    sensor: str
    stated_ms: int
    event_ms: int
    arrived_ms: int
    value: float
    news: bool = True
    late: bool = False
    clock_fault: bool = False
    flag: Flag = Flag.NOT_EVALUATED


@dataclass(frozen=True, slots=True)
class Seen:
    """A past reading that a finding rests on: which sensor, when (ms UTC) and what it said."""

    sensor: str
    at_ms: int
    value: float
