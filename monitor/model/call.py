"""A call: what people are told as one. All that is wrong with one vessel, or one trouble of many of them."""

from dataclasses import dataclass
from enum import StrEnum

from monitor.model.scale import Priority


class CallKind(StrEnum):
    """What a call is of."""

    VESSEL = "vessel"
    FLEET = "fleet"


class FleetCause(StrEnum):
    """What befalls many boats at once."""

    FROST = "frost"
    POWER = "power"
    WATER = "water"
    SILENCE = "silence"


@dataclass(slots=True)
class Call:
    """One thing that people are told, from its first alert to when the last has ended.

    Attributes:
        id: sixteen hexadecimal digits, decided by what it is of and when it opened.
        kind: of one vessel, or of the fleet.
        about: the vessel's id, or the `FleetCause`.
        opened_ms: event time.
        priority: the highest priority in force in it, alerts that have cleared or were put aside left out; None where
            none is in force.
        alerts: ids of its open alerts: least time to harm first, then in walking order.
        vessels: ids of their vessels, in the order of their first alert above.
        ended_ms: event time at which its last alert ended, None while it is open.
        accepted_ms: event time at which somebody had all of it, None where not.
        accepted_by: who.
        rung: how far the ladder has come: 0 nobody, 1 duty, 2 the second too, 3 the manager too.
    """

    id: str
    kind: CallKind
    about: str
    opened_ms: int
    priority: Priority | None = None
    alerts: tuple[str, ...] = ()
    vessels: tuple[str, ...] = ()
    ended_ms: int | None = None
    accepted_ms: int | None = None
    accepted_by: str | None = None
    rung: int = 0
