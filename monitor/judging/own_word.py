"""What the watch says under its own name, as rules do under theirs."""

from monitor.model.equipment import Bilge
from monitor.model.finding import Figure, Finding, TimeToHarm
from monitor.model.limits import Limit, Limits
from monitor.model.scale import Priority, Sure
from monitor.rules.rule import DAY_MS
from monitor.watch_state import LevelBefore, Stumble

OWN = "watch"
"""The name under which the watch itself speaks."""

STUMBLE_STANDS_MS = DAY_MS

LIMITS = Limits(
    Limit(
        "risen", 0.020, "m", "invented", "a bucket in a small bilge, six times a level's noise", "find what lets it in"
    ),
    Limit("back", 0.010, "m", "invented", "three times a level's noise: pumped out, or run off", "-"),
)
"""What a level may have risen by while something was done aboard."""

_MM = 1000.0


def stumbled(rule: str, stumble: Stumble) -> Finding:
    """Say that a rule has failed, so that she is not wholly watched."""
    return Finding(
        rule=OWN,
        subject=rule,
        kind="stumbled",
        priority=Priority.WARNING,
        figure=Figure(None, None, ""),
        harm=None,
        sure=Sure.CERTAIN,
        causes=("own_error", "odd_reading"),
        first=("look_aboard", "report_error"),
        never=(),
        facts={"rule": rule, "what": stumble.what, "at_ms": stumble.at_ms},
    )


def risen_aboard(bilge: Bilge, before: LevelBefore, found_m: float) -> Finding:
    """Say that there is more water in a bilge than before something was done aboard."""
    return Finding(
        rule=OWN,
        subject=bilge.id,
        kind="risen aboard",
        priority=Priority.WARNING,
        figure=Figure(_mm(found_m - before.level_m), _mm(LIMITS["risen"]), "mm"),
        harm=TimeToHarm(0.0, None) if found_m >= bilge.high_m else None,
        sure=Sure.LIKELY,
        causes=("left_running", "seacock_left_open", "wash_water"),
        first=("look_in_bilge", "ask_who_was_aboard", "look_at_seacocks"),
        never=(),
        facts={
            "name": bilge.name,
            "before_mm": _mm(before.level_m),
            "level_mm": _mm(found_m),
            "since_ms": before.since_ms,
            "until_ms": before.until_ms,
            "found_ms": before.found_ms,
        },
        latches=True,
        always_told=True,
    )


def _mm(metres: float) -> int:
    return round(metres * _MM)
