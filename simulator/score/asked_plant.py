"""What the score asks of shore power, the dehumidifier, the gateway, and of mould."""

from collections.abc import Iterator

from monitor.model.vessel import Vessel
from simulator.score.asked_cold import is_proven_dry
from simulator.score.case import DAY_MS, GATEWAY_DOWN, Case
from simulator.score.episodes import Episode
from simulator.score.rows import (
    DEHUMIDIFIER,
    MOULD,
    POWER_INFERRED,
    POWER_SEEN,
    SILENT_AFLOAT,
    SILENT_ASHORE,
    SILENT_FROST,
    Row,
)
from simulator.truth import Cause, HarmKind

POWER = ("power", "shore-power")
MACHINE = ("damp", "dehumidifier")
GATEWAY = ("silence", "gateway")

POWER_LOSSES = {"shore power lost", "prepaid meter empty", "wrong lead pulled", "residual-current breaker trips"}
"""The kinds of cause by which shore power is gone. What a cause explains does not tell: a charger that tripped may
rightly be told as power that may be gone."""

Asks = Iterator[tuple[Episode, set[str] | None]]
"""Episodes, each with the sensors it would be seen by; None where no sensor's fault excuses it."""


def dehumidifier_stops(case: Case) -> Asks:
    """Ask for every stop of a dehumidifier from when there was need of it, and name the sensors of its space."""
    machine = case.record.dehumidifier
    if machine is None or not machine.running:
        return
    keys = (MACHINE, ("damp", machine.space), POWER)
    for mark in case.log.marks:
        if mark.vessel != case.record.id or mark.kind != "humid":
            continue
        stops = (
            case.end_of(cause)
            for cause in case.causes()
            if cause.begins_ms <= mark.at_ms < case.end_of(cause) and _stops_drying(cause)
        )
        until_ms = max(stops, default=case.ends_ms)
        yield (
            Episode(DEHUMIDIFIER.name, mark.vessel, keys, mark.at_ms, None, until_ms, target_s=DEHUMIDIFIER.target_s),
            _of_space(case.record, machine.space),
        )


def power_losses(case: Case) -> Asks:
    """Ask for every loss of shore power: by its sensor, or inferred where a charger runs."""
    power = case.record.shore_power
    if not power.on:
        return
    if power.mains_sensor is not None:
        row = POWER_SEEN
    elif any(b.charger and b.voltage_sensor is not None for b in case.record.batteries):
        row = POWER_INFERRED
    else:
        return
    # Where nothing sees the mains, the battery that lost its charger is what tells.
    charged = [b for b in case.record.batteries if b.charger]
    keys = (POWER,) if row is POWER_SEEN else (POWER, *(("battery", b.id) for b in charged))
    meters = [power.mains_sensor] if row is POWER_SEEN else [b.voltage_sensor for b in charged]
    for cause in case.causes():
        if cause.kind in POWER_LOSSES:
            until_ms, begins_ms = case.end_of(cause), _missed_from(case, cause.begins_ms)
            if begins_ms >= until_ms:
                continue
            yield (
                Episode(
                    row.name,
                    cause.vessel,
                    keys,
                    begins_ms,
                    None,
                    until_ms,
                    target_s=row.target_s,
                    from_cause=begins_ms == cause.begins_ms,
                ),
                {meter for meter in meters if meter is not None},
            )


def _missed_from(case: Case, at_ms: int) -> int:
    """Give when a loss could be told: at once, or in a planned cut an hour after the power should be back."""
    if not case.calendar.is_planned_cut(at_ms):
        return at_ms
    while case.calendar.is_planned_cut(at_ms):
        at_ms += 600_000
    return at_ms + 3_600_000


def silences(case: Case) -> Asks:
    """Ask for every time that a gateway was silent; what began while it was silent already is no silence more."""
    silent_until_ms = case.begins_ms
    for cause in sorted(case.causes(), key=lambda c: c.begins_ms):
        if cause.kind in GATEWAY_DOWN:
            row, until_ms = _row_of_silence(case, cause), case.end_of(cause)
            begun, silent_until_ms = cause.begins_ms < silent_until_ms, max(silent_until_ms, until_ms)
            if begun:
                continue
            yield (
                Episode(
                    row.name,
                    cause.vessel,
                    (GATEWAY,),
                    cause.begins_ms,
                    None,
                    until_ms,
                    target_s=row.target_s,
                    from_cause=True,
                ),
                None,
            )


def _row_of_silence(case: Case, silence: Cause) -> Row:
    """Say what is asked of a silence: ashore less patience where something freezes in its first day.

    What is recorded drained and probed does not count: nobody expects it to.
    """
    if not case.record.mode.is_ashore:
        return SILENT_AFLOAT
    may_freeze = {system.id for system in case.record.liquid_systems if not is_proven_dry(system)}
    first_day = range(silence.begins_ms, min(silence.begins_ms + DAY_MS, case.end_of(silence)))
    freezes = (harm for harm in case.harms(HarmKind.FREEZES) if harm.subject in may_freeze)
    return SILENT_FROST if any(harm.at_ms in first_day for harm in freezes) else SILENT_ASHORE


def mould(case: Case) -> Asks:
    """Ask for mould on furnishings, and name the sensors of its space."""
    for harm in case.harms(HarmKind.MOULD):
        keys = (("damp", harm.subject), MACHINE)
        yield (
            Episode(MOULD.name, harm.vessel, keys, case.begins_ms, harm.at_ms, harm.at_ms),
            _of_space(case.record, harm.subject),
        )


def _stops_drying(cause: Cause) -> bool:
    return cause.kind == "dehumidifier stops" or cause.kind in POWER_LOSSES


def _of_space(record: Vessel, space_id: str) -> set[str]:
    return {space.humidity_sensor for space in record.spaces if space.id == space_id}
