"""When a hard frost has ended, by the air outside: what it broke leaks from then on."""

from dataclasses import dataclass

from monitor.rules.maintenance_limits import LIMITS
from monitor.rules.rule import HOUR_MS

_FROST_DEGC, _THAW_DEGC = LIMITS["frost_degc"], LIMITS["thaw_degc"]
_SPOKEN_MS, _THAW_MS = LIMITS.ms("spoken_for"), LIMITS.ms("thaw_for")


@dataclass(slots=True)
class Thaw:
    """What is kept of the frost under way, and of the last thaw.

    Attributes:
        at_ms: when the air was last heard.
        frost_h: hours of frost since the last spell that was warm for long.
        coldest_degc: the coldest of them.
        warm_from_ms: since when it has been warm without a break.
        thawed_ms: when the last hard frost had thawed, or the one before it after which nobody has come yet.
    """

    at_ms: int | None = None
    frost_h: float = 0.0
    coldest_degc: float = 0.0
    warm_from_ms: int | None = None
    thawed_ms: int | None = None


def feel_outside(thaw: Thaw, at_ms: int, degc: float) -> None:
    """Take a temperature of the air outside in."""
    passed_ms = 0 if thaw.at_ms is None else min(max(at_ms - thaw.at_ms, 0), _SPOKEN_MS)
    thaw.at_ms = at_ms
    if degc < _FROST_DEGC:
        thaw.frost_h += passed_ms / HOUR_MS
        thaw.coldest_degc = min(thaw.coldest_degc, degc)
    if degc < _THAW_DEGC:
        thaw.warm_from_ms = None
        return
    if thaw.warm_from_ms is None:
        thaw.warm_from_ms = at_ms
    if at_ms - thaw.warm_from_ms >= _THAW_MS:
        if thaw.frost_h >= LIMITS["frost_for"] and thaw.coldest_degc <= LIMITS["frost_to"]:
            thaw.thawed_ms = at_ms
        thaw.frost_h, thaw.coldest_degc = 0.0, 0.0
