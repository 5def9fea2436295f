"""What the bilge rule says of a pump that runs: how often, and for too long."""

from monitor.model.finding import Figure, Finding
from monitor.model.reading import Seen
from monitor.model.scale import Priority, Sure
from monitor.rules import bilge_advice as advice
from monitor.rules.bilge_advice import Pattern
from monitor.rules.bilge_limits import LIMITS
from monitor.rules.bilge_pump import Runs
from monitor.rules.bilge_say import Case, Steps, rests_on_level, say


def pump_runs(case: Case, runs: Runs, priority: Priority) -> Finding:
    """Say how often the pump runs, and what that means comes in."""
    flooded = priority is Priority.ALARM
    return say(
        case,
        kind="pump runs",
        priority=priority,
        figure=Figure(round(runs.per_day, 1), LIMITS["pump_told"], "runs a day"),
        sure=Sure.LIKELY,
        steps=Steps(
            advice.causes(case.record, case.place.bilge, _pumped(case, runs)),
            advice.first(case.record, flooded=flooded, thawed=case.thawed_ms is not None),
            ("no_pump_off", *advice.never(flooded=flooded)),
        ),
        rests_on=rests_on_level(case.memory.level),
        facts={
            "runs": runs.runs,
            "runs_day": round(runs.per_day, 1),
            "before_day": None if runs.before_per_day is None else round(runs.before_per_day, 1),
            "more": runs.more,
            "litres_day": None if runs.l_per_day is None else round(runs.l_per_day, 1),
            "share_pct": None if runs.share is None else round(100 * runs.share),
            "by_sensor": case.place.bilge.pump_sensor is not None,
        },
        off_ms=LIMITS.ms("slow_off"),
    )


def pump_long(case: Case, since_ms: int, now_ms: int) -> Finding:
    """Say that the pump runs and does not stop."""
    return say(
        case,
        kind="pump long",
        priority=Priority.WARNING,
        figure=Figure(round((now_ms - since_ms) / 60_000), LIMITS["pump_long"], "min"),
        sure=Sure.LIKELY,
        steps=Steps(
            ("pump_cannot_keep_up", "pump_sucks_air", "pump_switch_stuck"),
            advice.first(case.record, flooded=True, thawed=case.thawed_ms is not None),
            advice.never(flooded=True),
        ),
        rests_on=(Seen(case.place.bilge.pump_sensor or "", since_ms, 1.0), *rests_on_level(case.memory.level)),
        facts={"on_ms": since_ms},
    )


def _pumped(case: Case, runs: Runs) -> Pattern:
    often = runs.per_day >= LIMITS["pump_often"]
    return Pattern(slow=not often, least_l_per_day=runs.l_per_day, thawed=case.thawed_ms is not None, pumped=True)
