"""What the power rule says while an alert waits out its off-delay: that shore power is back, and what to see to."""

from monitor.model.finding import Figure, Finding
from monitor.model.reading import Seen
from monitor.model.scale import Sure
from monitor.model.vessel import Vessel
from monitor.rules.last_word import LastWord
from monitor.rules.power_findings import RULE, SUBJECT


def over(record: Vessel, told: LastWord, mains: Seen | None) -> Finding:
    """Say that power was gone and is back; ``mains`` is the word of its sensor, None where that is not heard."""
    return Finding(
        rule=RULE,
        subject=SUBJECT,
        kind=told.kind,
        priority=told.priority,
        figure=Figure(None if mains is None else mains.value, None, "/"),
        harm=None,
        sure=Sure.CERTAIN if mains is not None else Sure.LIKELY,
        causes=(),
        first=(*(("look_at_bilge",) if record.berth is not None else ()), "see_all_runs_again"),
        never=(),
        rests_on=() if mains is None else (mains,),
        facts={
            "name": "Shore power",
            "seen": mains is not None,
            "over_ms": told.ended_ms,
            "ends_at": told.ends_ms,
        },
        on_delay_ms=told.on_ms,
        off_delay_ms=told.off_ms,
        over=True,
    )
