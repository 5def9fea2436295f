"""Records with any figure in them: refused in words, or watched, shown and told of; none ends the writer."""

import json
from collections.abc import Iterator
from copy import deepcopy
from random import Random
from typing import Any

import httpx
import pytest
from pydantic import ValidationError
from watched import WatchedYard
from yards import HOUR_MS, NOW_MS, record

from monitor.fleet import CommandError, Fleet, NothingStored, Save
from monitor.model.inputs import RecordVersion
from monitor.model.parcel import Parcel, RawReading
from monitor.model.vessel import Vessel

NUMBERS = (0, 1, -1, 5e-324, 1e-300, 1e300, 1.7e308, 1e9, -40, 0.1, 59, 60, 100, 101, 2**63, 10**30)
TEXTS = (
    *("", "a", "\x00", "0001-01-01T00:00:00+23:59", "0001-01-01T00:00:00Z", "9999-12-31T23:59:59Z", "9999-12-31"),
    *("0001-01-01", "afloat laid up", "in commission", "moving", "wet", "drained", "lithium", "gel", "saloon", "cabin"),
)
BOAT = "amber-lark"


def spoilt(random: Random, document: dict[str, Any]) -> Vessel | None:
    """Give a record with some of its values otherwise, None where it is refused."""
    made = deepcopy(document)
    for _ in range(random.randrange(1, 4)):
        at: Any = made
        while True:
            key = random.choice(sorted(at) if isinstance(at, dict) else range(len(at)))
            if not isinstance(at[key], (dict, list)) or not at[key]:
                at[key] = random.choice(NUMBERS) if random.random() < 0.7 else random.choice(TEXTS)
                break
            at = at[key]
    try:
        return Vessel.model_validate_json(json.dumps(made))
    except ValidationError:
        return None


@pytest.mark.parametrize("year", ["0001-01-01T00:00:00+23:59", "0213-10-05T12:00:00Z", "9999-12-31T23:59:59Z"])
def test_a_lay_up_in_a_year_that_cannot_be_is_refused_in_words(year: str) -> None:
    document = record(BOAT, "Amber Lark", "B1").model_dump(mode="json") | {"laid_up": year}
    said = refused(Fleet(NothingStored()), Vessel.model_validate_json(json.dumps(document)))
    assert said.startswith("nothing can be watched by this record: she was laid up in the year ")


def accepted(random: Random, count: int) -> Iterator[Vessel]:
    document = record(BOAT, "Amber Lark", "B1").model_dump(mode="json")
    while count:
        vessel = spoilt(random, document)
        if vessel is not None:
            count -= 1
            yield vessel


def refused(fleet: Fleet, vessel: Vessel) -> str:
    try:
        fleet.command(RecordVersion(vessel, NOW_MS - 12 * HOUR_MS, "test"))
    except CommandError as error:
        return str(error)
    return ""


def test_whatever_a_record_says_she_is_watched_or_it_is_refused_in_words() -> None:
    random = Random(3)
    for vessel in accepted(random, 150):
        fleet = Fleet(NothingStored())
        refusal = refused(fleet, vessel)
        if refusal:
            assert refusal.startswith("nothing can be watched by this record: ")
            assert fleet.hand_over().is_empty
            continue
        for hours in range(12, 0, -3):
            at_ms = NOW_MS - hours * HOUR_MS
            values = (1e9, -1e9, 0.0, -20.0, 12.0, 1e-9)
            readings = [
                RawReading(vessel.id, s.id, 1.0 if s.quantity.is_switch else random.choice(values), at_ms)
                for s in vessel.sensors
            ]
            fleet.take(Parcel(0, 0, 0, retained=False, topic="", readings=readings), at_ms, caught_up=True)
            fleet.clock(at_ms + 60_000)
        assert vessel.id in fleet.hand_over(Save.EVERYTHING).snapshots


def test_a_pump_beyond_all_pumps_is_refused_and_changes_nothing(client: httpx.Client, yard: WatchedYard) -> None:
    document = yard.view.record(BOAT).vessel.model_dump(mode="json")  # type: ignore[union-attr]  # she has one
    document["bilges"][0] |= {"pump_lph": 1e300}
    answer = client.put(f"/api/vessels/{BOAT}/record", json=document)
    assert answer.status_code == 409, answer.text
    assert "rated flow is 1e+300 L/h, outside 0 to 100000 L/h" in answer.json()["detail"]
    assert client.get(f"/vessels/{BOAT}").status_code == 200


@pytest.mark.parametrize("seed", [1, 2])
def test_whatever_a_record_says_her_pages_are_answered(client: httpx.Client, yard: WatchedYard, seed: int) -> None:
    for vessel in accepted(Random(seed), 20):
        document = vessel.model_dump(mode="json") | {"id": BOAT}
        answer = client.put(f"/api/vessels/{BOAT}/record", json=document)
        assert answer.status_code in {200, 409, 422}
        yard.sensed(BOAT, "level", 0.5, ago_ms=0)
        yard.passes(0.05)
        for path in ("/", "/round", f"/vessels/{BOAT}", f"/vessels/{BOAT}/visit", "/calendar.ics", "/calls"):
            assert client.get(path).status_code < 500, (path, document)
