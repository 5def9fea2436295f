"""Invented boats for tests."""

from datetime import UTC, date, datetime
from typing import Any

from proved import proved

from monitor.model.vessel import Vessel

LAID_UP = datetime(2013, 11, 1, 9, 0, tzinfo=UTC)
LAID_UP_MS = round(LAID_UP.timestamp() * 1000)
MINUTE = 60_000
HOUR = 3_600_000
DAY = 24 * HOUR


def boat(**changes: Any) -> Vessel:
    """A boat ashore with one treated cooling system, one bilge with a float, one battery; change what a test needs.

    Her sensors are proved, and her watch is taken on.
    """
    document: dict[str, Any] = {
        "id": "tern",
        "name": "Tern",
        "yard": "quay",
        "mode": "ashore bung in",
        "plot": "B4",
        "laid_up": LAID_UP,
        "engineer": "R. Invented",
        "outside_sensor": "outside",
        "sensors": [
            sensor("outside", "temperature"),
            sensor("engine-space", "temperature"),
            sensor("bilge-level", "level"),
            sensor("bilge-float", "float_switch"),
            sensor("house-volts", "voltage"),
        ],
        "liquid_systems": [
            {
                "id": "closed-cooling",
                "name": "Closed cooling",
                "kind": "closed cooling",
                "state": "treated",
                "liquid": "ethylene glycol",
                "tested_freeze_degc": -20.0,
                "tester": "refractometer",
                "tested": date(2013, 10, 30),
                "sensor": "engine-space",
            }
        ],
        "bilges": [
            {
                "id": "bilge",
                "name": "Bilge",
                "level_sensor": "bilge-level",
                "float_sensor": "bilge-float",
                "high_m": 0.1,
            }
        ],
        "batteries": [
            {
                "id": "house",
                "name": "House battery",
                "chemistry": "flooded",
                "capacity_ah": 100,
                "voltage_sensor": "house-volts",
                "temperature_sensor": "engine-space",
            }
        ],
    }
    return proved(Vessel.model_validate(document | changes))


def sensor(name: str, quantity: str, interval_s: float = 3600) -> dict[str, Any]:
    """A sensor of a record, reporting each hour unless told otherwise."""
    return {
        "id": name,
        "quantity": quantity,
        "place": name.replace("-", " "),
        "interval_s": interval_s,
        "supply": "own cell",
    }
