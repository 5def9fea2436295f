"""Whether a charger still holds its battery at float. It learns the float it sees, and notes when the volts left it."""

from dataclasses import dataclass

from monitor.rules.battery_limits import LIMITS

_FLOAT_V = LIMITS["float"]
_ROOM_V = LIMITS["float_room"]
_DROP_V = LIMITS["float_drop"]
_MOST_V = LIMITS["float_most"]
_LEARNS_MS = LIMITS.ms("float_learns")
_OFF_MS = LIMITS.ms("off_for")
_NEVER_ON_MS = LIMITS.ms("never_on_for")
# Float falls with warmth by 3 mV a cell and kelvin on chargers that compensate (makers' handbooks).
_V_PER_K = -6 * 0.003
_REFERENCE_DEGC = 25.0


@dataclass(slots=True)
class Floating:
    """What is kept of one charger's float. Volts are on the 12 V basis.

    Attributes:
        float_v: the float learnt, None where it was never seen.
        at_ms: when volts were last heard.
        off_since_ms: since when the volts have left the float, None while they stand on it.
        under: whether they are below what any float can be.
    """

    float_v: float | None = None
    at_ms: int | None = None
    off_since_ms: int | None = None
    under: bool = False


def follow_float(floating: Floating, at_ms: int, v: float, t_degc: float) -> None:
    """Take volts in.

    A charger that rests at a lower float of its own leaves the learnt one and still stands above 13 V: that alone is
    no loss. Volts under 13 V are, unless they come back soon.
    """
    known = floating.float_v
    floor_v = _FLOAT_V if known is None else min(_FLOAT_V, known - _ROOM_V)
    floating.under = v < floor_v + (_ROOM_V / 2 if floating.under else 0.0)
    drop_v = _DROP_V if floating.off_since_ms is None else _DROP_V - _ROOM_V
    if floating.under or (known is not None and v < known - drop_v):
        if floating.off_since_ms is None:
            floating.off_since_ms = at_ms
    else:
        floating.off_since_ms = None
    if _FLOAT_V <= v <= _MOST_V + _V_PER_K * (t_degc - _REFERENCE_DEGC):
        if known is None or floating.at_ms is None:
            floating.float_v = v
        else:
            passed = at_ms - floating.at_ms
            floating.float_v = known + (v - known) * passed / (passed + _LEARNS_MS)
    floating.at_ms = at_ms


def lost_from_ms(floating: Floating, *, mains_lost: bool) -> int | None:
    """Say from which time on the charger counts as lost if nothing changes, None where it holds its battery."""
    if floating.off_since_ms is None or not (floating.under or mains_lost):
        return None
    return floating.off_since_ms + (_NEVER_ON_MS if floating.float_v is None else _OFF_MS)
