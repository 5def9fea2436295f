"""The next lay-up, begun from last winter's record: what stays aboard stays, what was done and proved does not."""

from datetime import datetime
from typing import Any

from monitor.model.equipment import SystemState
from monitor.model.vessel import Mode, Vessel


def next_winter(record: Vessel, laid_up: datetime, engineer: str) -> dict[str, Any]:
    """Give the data of a record for a new lay-up.

    Liquid systems keep the names of their drains, none of them probed; open items that were never closed stay.
    """
    data = record.model_dump()
    unproven = {"state": SystemState.NOT_PROVEN, "tested_freeze_degc": None, "tester": None, "tested": None}
    return {
        **data,
        "laid_up": laid_up,
        "engineer": engineer,
        "mode": Mode.LAYING_UP,
        "liquid_systems": [
            {**system, **unproven, "drains": [{**drain, "probed": False} for drain in system["drains"]]}
            for system in data["liquid_systems"]
        ],
        "bilges": [{**bilge, "zero_wanted": bilge["level_sensor"] is not None} for bilge in data["bilges"]],
        "open_items": [item for item in data["open_items"] if item["closed"] is None],
        "jobs": [],
        "visits": [],
        "proofs": [],
        "commissioned": None,
    }


def what_goes(record: Vessel) -> list[str]:
    """Say what a new winter takes off a record, and what it leaves, a sentence each."""
    closed = sum(item.closed is not None for item in record.open_items)
    said = [
        f"{_counted(len(record.liquid_systems), 'liquid system')} back to not proven: no test, no drain probed.",
        f"{_counted(len(record.jobs), 'job')} of the work list taken off.",
        f"{_counted(len(record.visits), 'visit')} before the watch taken off.",
        f"{_counted(len(record.proofs), 'proof')} of sensors taken off: each is proved by hand again.",
        f"{_counted(closed, 'open item')} that {'was' if closed == 1 else 'were'} put right taken off.",
    ]
    levels = sum(bilge.level_sensor is not None for bilge in record.bilges)
    if levels:
        said.append(f"{_counted(levels, 'level sensor')} to be set to zero anew, as she sits now.")
    left = [item for item in record.open_items if item.closed is None]
    said += [f"Tag {item.tag} stays open: {item.what}." for item in left]
    return said


def _counted(count: int, what: str) -> str:
    return f"{count} {what}{'s' * (count != 1)}"
