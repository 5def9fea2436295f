"""Moving a vessel to another berth, plot or mode: what becomes of her record, and what to look at before it is said."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from monitor.model.proof import ProofWay
from monitor.model.vessel import Mode, Vessel
from monitor.record.checks import is_afloat

MODE_SAYS = {
    Mode.ASHORE_BUNG_OUT: "Laid up ashore, bung out",
    Mode.ASHORE_BUNG_IN: "Laid up ashore, bung in",
    Mode.AFLOAT_LAID_UP: "Laid up afloat",
    Mode.LAYING_UP: "Being laid up: people work on her",
    Mode.WORK_ABOARD: "Work aboard",
    Mode.MOVING: "On the move in the yard",
    Mode.IN_SLINGS: "In the slings",
    Mode.FIRST_24_H_AFLOAT: "Afloat for less than a day",
    Mode.IN_COMMISSION: "In commission: her people use her",
}
"""Every mode in plain words, laid up first."""

_HANGING = frozenset({Mode.IN_SLINGS, Mode.MOVING})


@dataclass(frozen=True, slots=True)
class Move:
    """Where she is to be.

    Attributes:
        mode: as what she lies there.
        plot: where ashore, empty where she is not.
        berth: where afloat, likewise.
        sits_otherwise: somebody says that she was lifted, or that her trim has changed.
    """

    mode: Mode
    plot: str = ""
    berth: str = ""
    sits_otherwise: bool = False


def moved(record: Vessel, move: Move) -> Vessel:
    """Give her record after a move.

    Where she may sit otherwise, every level sensor's zero is to be set anew: what was dipped before proves nothing.
    """
    changes: dict[str, object] = {"mode": move.mode, "plot": move.plot or None, "berth": move.berth or None}
    after = record.model_copy(update=changes)
    if not (move.sits_otherwise or was_lifted(record, after)):
        return after
    levels = {bilge.level_sensor for bilge in record.bilges if bilge.level_sensor is not None}
    bilges = tuple(b.model_copy(update={"zero_wanted": b.level_sensor in levels}) for b in record.bilges)
    proofs = tuple(p for p in record.proofs if not (p.sensor in levels and p.way is ProofWay.DIPPED))
    return after.model_copy(update={"bilges": bilges, "proofs": proofs})


def was_lifted(before: Vessel, after: Vessel) -> bool:
    """Say whether she was lifted between two versions of her record: onto land, off it, or from plot to plot."""
    hung = before.mode in _HANGING or after.mode in _HANGING
    return (
        before.plot != after.plot or is_afloat(before) != is_afloat(after) or (hung and before.mode is not after.mode)
    )


def warnings(before: Vessel, after: Vessel, others: Iterable[Vessel]) -> Iterator[str]:
    """Say what to look at before she is moved, a sentence each.

    Args:
        before: her record.
        after: as it is to be.
        others: the other vessels' records.
    """
    floats = is_afloat(after) or after.mode is Mode.IN_SLINGS
    if floats and before.mode is Mode.ASHORE_BUNG_OUT:
        yield "By her record her bung is out. Two people see it closed at her launch gate before she floats."
    open_hull = [i.what for i in before.open_items if i.opens_hull and i.closed is None]
    if floats and not is_afloat(before) and open_hull:
        yield f"By her record her hull is open: {'; '.join(open_hull)}. Close it before she floats."
    yield from shared_place(after, others)


def shared_place(vessel: Vessel, others: Iterable[Vessel]) -> Iterator[str]:
    """Say which other boats stand, by their records, where she does, a sentence each."""
    yield from (
        f"{other.name} stands at {other.place} by her record." for other in others if _same_place(vessel, other)
    )


def _same_place(one: Vessel, other: Vessel) -> bool:
    if one.id == other.id:
        return False
    pairs = ((one.plot, other.plot), (one.berth, other.berth))
    return any(a and b and a.strip().casefold() == b.strip().casefold() for a, b in pairs)
