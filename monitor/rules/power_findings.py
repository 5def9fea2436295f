"""The power rule's findings: shore power lost, and not known whether it is there."""

from collections.abc import Iterator

from monitor.model.equipment import Supply
from monitor.model.finding import Figure, Finding, TimeToHarm
from monitor.model.reading import Seen
from monitor.model.scale import Priority, Sure
from monitor.model.vessel import Vessel
from monitor.rules.power_frost import ColdAhead
from monitor.rules.power_limits import LIMITS

RULE = "power"
SUBJECT = "shore-power"


def consequences(record: Vessel) -> Iterator[str]:
    """Give the keys of the findings that follow from a loss of shore power."""
    yield from (f"battery/{b.id}" for b in record.batteries if b.charger)
    if record.dehumidifier is not None and record.dehumidifier.running:
        yield "damp/dehumidifier"
        yield f"damp/{record.dehumidifier.space}"
    yield from (f"silence/{s.id}" for s in record.sensors if s.supply is Supply.YARD_MAINS)


def lost(
    record: Vessel, *, since_ms: int, cut_end_ms: int | None, seen: Seen | None, frost: ColdAhead | None, now_ms: int
) -> Finding:
    """Say that shore power is gone: by its sensor, or by what stopped together; ``frost`` where it makes haste."""
    harm = None
    if frost is not None and frost.begins_ms is not None:
        harm = TimeToHarm(max(frost.begins_ms - now_ms, 0) / 1000, None)
    return Finding(
        rule=RULE,
        subject=SUBJECT,
        kind="lost",
        priority=Priority.WARNING if frost is None else Priority.ALARM,
        figure=Figure(None if seen is None else seen.value, None, "/"),
        harm=harm,
        sure=Sure.CERTAIN if seen is not None else Sure.LIKELY,
        causes=("breaker_tripped", "lead_off", "pedestal_dead")
        if cut_end_ms is None
        else ("not_switched_back", "breaker_tripped"),
        first=(
            *(("drain_before_frost",) if frost is not None else ()),
            "look_if_others_dark",
            "restore_shore_power",
            *(("look_at_bilge",) if record.berth is not None else ()),
            "see_all_runs_again",
        ),
        never=("no_second_reset", "no_wet_lead", *(("no_portable_heater",) if frost is not None else ())),
        rests_on=() if seen is None else (seen,),
        facts={
            "name": "Shore power",
            "seen": seen is not None,
            "since_ms": since_ms,
            "cut_end_ms": cut_end_ms,
            "charger": any(b.charger for b in record.batteries),
            "dehumidifier": record.dehumidifier is not None and record.dehumidifier.running,
            "heater": record.heater is not None and record.heater.on,
            "frost_degc": None if frost is None else round(frost.degc, 1),
        },
        on_delay_ms=LIMITS.ms("blink" if seen is not None else "inferred_for"),
        off_delay_ms=LIMITS.ms("back_for"),
        covers=tuple(consequences(record)),
    )


def not_known(record: Vessel, mains: Seen | None, *, charger_stopped: bool) -> Finding:
    """Say that it is not known whether shore power is there."""
    fitted = record.shore_power.mains_sensor is not None
    why_blind = "mains_not_heard" if fitted else "no_mains_sensor"
    return Finding(
        rule=RULE,
        subject=SUBJECT,
        kind="not known",
        priority=Priority.CAUTION,
        figure=Figure(None, None, "/"),
        harm=None,
        sure=Sure.NOT_KNOWN,
        causes=("charger_or_power",) if charger_stopped else (why_blind,),
        first=("look_at_pedestal",) if fitted else ("look_at_pedestal", "fit_mains_sensor"),
        never=(),
        rests_on=() if mains is None else (mains,),
        facts={"name": "Shore power", "fitted": fitted},
    )
