"""What the score asks of batteries that run down."""

from collections.abc import Iterator

from monitor.model.equipment import Battery
from simulator.score.case import Case
from simulator.score.episodes import Episode
from simulator.score.rows import HALF_FAST, HALF_SLOW, NO_PUMP, Row
from simulator.truth import Harm, HarmKind

SLOW_PCT_DAY = 0.5


def batteries_to_half(case: Case) -> Iterator[tuple[Episode, set[str]]]:
    """Ask for every battery that comes to half, and name its meter."""
    for harm in case.harms(HarmKind.HALF):
        row = HALF_SLOW if _draw_pct_day(case, harm) < SLOW_PCT_DAY else HALF_FAST
        yield _episode(case, harm, row)


def pumps_unfed(case: Case) -> Iterator[tuple[Episode, set[str]]]:
    """Ask for every battery that comes to where it cannot run the bilge pump for a day, and name its meter."""
    for harm in case.harms(HarmKind.NO_PUMP):
        yield _episode(case, harm, NO_PUMP)


def _draw_pct_day(case: Case, harm: Harm) -> float:
    """Give what the causes in force drew on the bank, % of capacity a day: 0 where it ran down by itself.

    A cause that does not say what it draws, such as a charger that stopped, is one of the slow ones.
    """
    return sum(
        float(cause.facts.get("draw_pct_day", 0.0))
        for cause in case.causes()
        if cause.subject == harm.subject and cause.begins_ms <= harm.at_ms <= case.end_of(cause)
    )


def _episode(case: Case, harm: Harm, row: Row) -> tuple[Episode, set[str]]:
    bank = _bank(case, harm)
    keys = [("battery", bank.id)]
    if bank.charger and case.record.shore_power.on:
        # While a loss of shore power stands, it speaks for the batteries that it leaves without charge.
        keys.append(("power", "shore-power"))
    episode = Episode(
        row=row.name,
        vessel=harm.vessel,
        keys=tuple(keys),
        begins_ms=case.begins_ms,
        due_ms=harm.at_ms,
        until_ms=harm.at_ms,
        target_s=row.target_s,
    )
    return episode, set() if bank.voltage_sensor is None else {bank.voltage_sensor}


def _bank(case: Case, harm: Harm) -> Battery:
    for bank in case.record.batteries:
        if bank.id == harm.subject:
            return bank
    raise ValueError(f"{harm.vessel}: {harm.kind}: {harm.subject!r} is no battery of her record")
