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
    levels = sum(bilge.level_sensor is not None for bilge in record.bilges)
    counted = (
        (len(record.liquid_systems), "liquid system", "back to not proven: no test, no drain probed"),
        (len(record.jobs), "job", "of the work list taken off"),
        (len(record.visits), "visit", "before the watch taken off"),
        (len(record.proofs), "proof", "of sensors taken off: each is proved by hand again"),
        (closed, "closed open item", "taken off"),
        (levels, "level sensor", "to be set to zero anew, as she sits now"),
    )
    said = [f"{count} {what}{'s' * (count != 1)} {goes}." for count, what, goes in counted if count]
    if record.commissioned is not None:
        said.append("The yard takes the watch on anew.")
    left = [item for item in record.open_items if item.closed is None]
    said += [f"Tag {item.tag} stays open: {item.what}." for item in left]
    return said
