"""The yard of the benchmarks: boats that are well, each with five sensors that are all heard at their time."""

import sys
from collections.abc import Iterator
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from boats import LAID_UP_MS, MINUTE, boat
from fixtures_broker import Broker as Broker  # noqa: PLC0414 - handed on: only here is where the tests lie looked for

from monitor.model.parcel import Parcel, RawReading
from monitor.model.vessel import Vessel

SENSORS = (
    ("engine-space", "Cel", 4.0),
    ("outside", "Cel", 2.0),
    ("bilge-level", "m", 0.010),
    ("bilge-float", "/", 0.0),
    ("house-volts", "V", 12.6),
)
BEGINS_MS = LAID_UP_MS


def records(vessels: int) -> Iterator[Vessel]:
    """Give the boats' records, each read from its own document as the journal's are."""
    document = boat(id="boat-0").model_dump_json()
    for number in range(vessels):
        yield Vessel.model_validate_json(document.replace('"boat-0"', f'"boat-{number}"'))


def value_at(usual: float, at_ms: int) -> float:
    """Give what a sensor says: near what it usually does; a switch always the same."""
    return usual and usual + at_ms // (5 * MINUTE) % 7 * 0.001


def packs(vessels: int, at_ms: int) -> Iterator[Parcel]:
    """Give every boat's pack of one time."""
    said = [(name, value_at(usual, at_ms)) for name, _, usual in SENSORS]
    for number in range(vessels):
        vessel = f"boat-{number}"
        raws = [RawReading(vessel, name, value, at_ms) for name, value in said]
        yield Parcel(number, 1, 1, retained=False, topic="", readings=raws)
