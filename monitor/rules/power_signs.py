"""What shows that shore power is gone where no sensor sees it: what it fed stops, and several things stop together.

One thing that stops has stopped by itself as likely as not, and its own rule tells of it. A charger that still holds
its battery at float proves that power is there.
"""

from dataclasses import dataclass, field

from monitor.rules.power_limits import LIMITS
from monitor.rules.rule import HOUR_MS

_CHARGING_V = LIMITS["charging"]
_FELL_V = LIMITS["float_fell"]
_LEARNS_MS = LIMITS.ms("float_learns")
_DAY_H = round(LIMITS["rh_day"])

CHARGER, DEHUMIDIFIER, HEATER = "charger", "dehumidifier", "heater"


@dataclass(slots=True)
class ChargerSign:
    """One charger: when its battery was last heard, the float learnt (12 V basis), and since when it has left it."""

    at_ms: int = 0
    float_v: float | None = None
    off_ms: int | None = None


@dataclass(slots=True)
class HighestHour:
    """The highest humidity of one hour, %."""

    hour: int
    rh: float


@dataclass(slots=True)
class DrySign:
    """The dehumidifier's space: the last day's hours while it held, and since when the air has been over them."""

    hours: list[HighestHour] = field(default_factory=list)
    off_ms: int | None = None


@dataclass(slots=True)
class WarmSign:
    """The heated space: how much warmer than outside it usually is, K, and since when most of that is gone."""

    at_ms: int | None = None
    warmer_k: float = 0.0
    off_ms: int | None = None


@dataclass(slots=True)
class Signs:
    """All of them, and since when power is inferred to be gone."""

    chargers: dict[str, ChargerSign] = field(default_factory=dict)
    dry: DrySign = field(default_factory=DrySign)
    warm: WarmSign = field(default_factory=WarmSign)
    gone_ms: int | None = None


def charger_volts(sign: ChargerSign, at_ms: int, v: float) -> None:
    """Take a charged battery's volts in, on the 12 V basis."""
    known = sign.float_v
    if v >= _CHARGING_V:
        passed = at_ms - sign.at_ms
        sign.float_v = v if known is None else known + (v - known) * passed / (passed + _LEARNS_MS)
        sign.off_ms = None
    elif known is not None and v < known - _FELL_V and sign.off_ms is None:
        sign.off_ms = at_ms
    sign.at_ms = at_ms


def dried_humidity(sign: DrySign, at_ms: int, rh: float) -> None:
    """Take the humidity of the dehumidifier's space in."""
    hour, hours = at_ms // HOUR_MS, sign.hours
    while hours and hours[0].hour < hour - _DAY_H and sign.off_ms is None:
        del hours[0]
    highest = max((h.rh for h in hours), default=rh)
    if sign.off_ms is not None:
        if rh > highest:
            return
        sign.off_ms = None
        hours.clear()
    elif len(hours) >= LIMITS["rh_known"] and rh > highest + LIMITS["rh_over"]:
        sign.off_ms = at_ms
        return
    if hours and hours[-1].hour == hour:
        hours[-1].rh = max(hours[-1].rh, rh)
    else:
        hours.append(HighestHour(hour, rh))


def heated_warmth(sign: WarmSign, at_ms: int, warmer_k: float) -> None:
    """Take in how much warmer than outside the heated space is, K."""
    if sign.at_ms is None:
        sign.warmer_k = warmer_k
    elif sign.off_ms is None:
        passed = at_ms - sign.at_ms
        sign.warmer_k += (warmer_k - sign.warmer_k) * passed / (passed + _LEARNS_MS)
    sign.at_ms = at_ms
    if sign.off_ms is not None:
        if warmer_k >= LIMITS["warmth_back"] * sign.warmer_k:
            sign.off_ms = None
    elif sign.warmer_k >= LIMITS["warmer"] and warmer_k < LIMITS["warmth_left"] * sign.warmer_k:
        sign.off_ms = at_ms


def infer(signs: Signs) -> None:
    """Bring to date since when power is inferred to be gone."""
    off = stopped(signs)
    if signs.gone_ms is not None:
        # Dry weather dries her without a machine; a charger that floats is proof.
        if _a_charger_floats(signs) or not off:
            signs.gone_ms = None
    elif len(off) > 1 and max(off.values()) - min(off.values()) <= LIMITS.ms("together"):
        signs.gone_ms = min(off.values())


def stopped(signs: Signs) -> dict[str, int]:
    """Give since when each kind of thing has stood: chargers once none of those ever seen to float does any more."""
    off = {}
    chargers = [c for c in signs.chargers.values() if c.float_v is not None]
    times = [c.off_ms for c in chargers if c.off_ms is not None]
    if times and len(times) == len(chargers):
        off[CHARGER] = max(times)
    elif chargers:
        return {}
    if signs.dry.off_ms is not None:
        off[DEHUMIDIFIER] = signs.dry.off_ms
    if signs.warm.off_ms is not None:
        off[HEATER] = signs.warm.off_ms
    return off


def proven_until_ms(signs: Signs) -> int | None:
    """Say until when a charger that floats proves that power is there, None where none does."""
    floats = [c.at_ms for c in signs.chargers.values() if c.float_v is not None and c.off_ms is None]
    return max(floats) + LIMITS.ms("mains_stale") if floats else None


def _a_charger_floats(signs: Signs) -> bool:
    return any(c.float_v is not None and c.off_ms is None for c in signs.chargers.values())
