"""Whether a charger still holds its battery at float. It learns the float it sees, and notes when the volts left it.

A charger that rests by itself and comes back (one that stores, a solar one, one on a timer) is learnt by its rests:
once it has come back a few times, a rest like those before is its way of working and no loss.
"""

from dataclasses import dataclass, field

from monitor.rules.battery_limits import LIMITS

_FLOAT_V = LIMITS["float"]
_ROOM_V = LIMITS["float_room"]
_DROP_V = LIMITS["float_drop"]
_MOST_V = LIMITS["float_most"]
_LEARNS_MS = LIMITS.ms("float_learns")
_OFF_MS = LIMITS.ms("off_for")
_NEVER_ON_MS = LIMITS.ms("never_on_for")
_SPELL_LEAST_MS, _SPELL_MOST_MS = LIMITS.ms("spell_least"), LIMITS.ms("spell_most")
_SPELLS_KEPT_MS, _SPELLS = LIMITS.ms("spells_kept"), int(LIMITS["spells"])
_LONGER, _DEEPER_V = LIMITS["spell_longer"], LIMITS["spell_deeper"]
_SPELLS_HELD = 5
# Float falls with warmth by 3 mV a cell and kelvin on chargers that compensate (makers' handbooks).
_V_PER_K = -6 * 0.003
_REFERENCE_DEGC = 25.0

Spell = tuple[int, int, float]
"""A rest that a charger ended by itself: when it ended (ms), how long it was (ms), the lowest volts in it."""


@dataclass(slots=True)
class Floating:
    """What is kept of one charger's float. Volts are on the 12 V basis.

    Attributes:
        float_v: the float learnt, None where it was never seen.
        at_ms: when volts were last heard.
        off_since_ms: since when the volts have left the float, None while they stand on it.
        under: whether they are below what any float can be.
        lowest_v: the lowest volts since they left it.
        spells: the last rests it ended by itself, oldest first.
    """

    float_v: float | None = None
    at_ms: int | None = None
    off_since_ms: int | None = None
    under: bool = False
    lowest_v: float = 0.0
    spells: list[Spell] = field(default_factory=list)


def most_float_v(t_degc: float) -> float:
    """Give the volts above which a lead-acid battery is in absorption and no longer at float.

    >>> round(most_float_v(25.0), 2), round(most_float_v(5.0), 2)
    (13.9, 14.26)
    """
    return _MOST_V + _V_PER_K * (t_degc - _REFERENCE_DEGC)


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
            floating.off_since_ms, floating.lowest_v = at_ms, v
        floating.lowest_v = min(floating.lowest_v, v)
    elif floating.off_since_ms is not None:
        _came_back(floating, floating.off_since_ms, at_ms)
    if _FLOAT_V <= v <= most_float_v(t_degc):
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
    if floating.float_v is None:
        return floating.off_since_ms + _NEVER_ON_MS
    return floating.off_since_ms + (_OFF_MS if mains_lost else max(_OFF_MS, usual_rest_ms(floating)))


def usual_rest_ms(floating: Floating) -> int:
    """Give how long it may rest as it has rested before: 0 where it is not known to, or where this rest goes deeper."""
    since_ms = floating.off_since_ms or floating.at_ms or 0
    spells = [s for s in floating.spells if s[0] >= since_ms - _SPELLS_KEPT_MS]
    if len(spells) < _SPELLS or floating.lowest_v < min(v for _, _, v in spells) - _DEEPER_V:
        return 0
    return min(round(_LONGER * max(length for _, length, _ in spells)), _SPELL_MOST_MS)


def _came_back(floating: Floating, since_ms: int, at_ms: int) -> None:
    floating.off_since_ms = None
    if floating.float_v is not None and at_ms - since_ms >= _SPELL_LEAST_MS:
        floating.spells.append((at_ms, at_ms - since_ms, floating.lowest_v))
        del floating.spells[:-_SPELLS_HELD]
