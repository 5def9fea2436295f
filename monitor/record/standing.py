"""What stands open, off, out or wet by the record, and when it must be put right."""

from dataclasses import dataclass

from monitor.model.equipment import Due, SystemState
from monitor.model.vessel import Mode, Vessel

_ORDER = {due: place for place, due in enumerate(Due)}


@dataclass(frozen=True, slots=True)
class StandingItem:
    """One thing to put right.

    Attributes:
        what: what it is, as the engineer wrote it or as the record implies it.
        due: when it must be put right.
        tag: number of its tag; None where the record implies it and nobody hung a tag.
    """

    what: str
    due: Due
    tag: int | None = None


def standing_items(record: Vessel) -> list[StandingItem]:
    """Give everything that must be put right, first due first: tagged items still open, and what the record implies."""
    items = [StandingItem(item.what, item.due, item.tag) for item in record.open_items if item.closed is None]
    if record.mode is Mode.ASHORE_BUNG_OUT:
        items.append(StandingItem("Drain bung is out", Due.BEFORE_LIFT))
    items += [
        StandingItem(f"{seacock.name} seacock is open: {seacock.reason}", Due.BEFORE_LIFT)
        for seacock in record.open_seacocks
    ]
    for system in record.liquid_systems:
        if system.state is SystemState.WET:
            items.append(StandingItem(f"{system.name} was left wet: drain or treat it", Due.BEFORE_LIFT))
        elif system.state is SystemState.NOT_PROVEN or any(not drain.probed for drain in system.drains):
            items.append(StandingItem(f"{system.name} is not proven: find out how it was left", Due.BEFORE_LIFT))
        elif system.state is SystemState.DRAINED:
            items.append(StandingItem(f"{system.name} was drained: close its drains and fill it", Due.BEFORE_LIFT))
    return sorted(items, key=lambda item: (_ORDER[item.due], item.tag is None, item.tag or 0))
