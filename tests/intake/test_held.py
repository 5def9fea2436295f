"""What a parcel is taken to hold is held against what Python really takes for it."""

import tracemalloc
from collections.abc import Callable

import pytest
from boats import boat

from monitor.intake.held import held_bytes
from monitor.intake.reader import LARGEST, Reader
from monitor.model.parcel import Parcel
from monitor.model.vessel import Vessel


class OneBoat:
    """A directory of one boat."""

    def __init__(self) -> None:
        self._boat = boat()

    def vessel(self, vessel_id: str) -> Vessel | None:
        return self._boat if vessel_id == "tern" else None


def pack(record: Callable[[int], str]) -> bytes:
    """As many records as a message may hold."""
    records, size = [], 2
    while (size := size + len(one := record(len(records))) + 1) <= LARGEST:
        records.append(one)
    return f"[{','.join(records)}]".encode()


@pytest.mark.parametrize(
    ("topic", "payload"),
    [
        ("layup/quay/tern/engine-space", b"4.25"),
        ("layup/quay/tern/readings", b'[{"n":"engine-space","u":"Cel","bt":1700000000,"v":4.5}]'),
        (
            "layup/quay/tern/readings",
            pack(lambda n: f'{{"n":"engine-space","u":"Cel","t":{1700000000 + n},"v":4.{n}}}'),
        ),
        ("layup/quay/tern/readings", pack(lambda n: f'{{"v":0.{n}}}' if n else '{"bn":"engine-space","v":1.5}')),
        ("layup/quay/tern/readings", pack(lambda n: f'{{"n":"keel{n}","v":1}}')),
        ("layup/quay/" + 1000 * "x", b"4.25"),
    ],
    ids=["a bare number", "one reading", "full of times", "full of values", "full of what is refused", "a long topic"],
)
def test_a_parcel_holds_what_it_is_said_to_within_a_half(topic: str, payload: bytes) -> None:
    reader = Reader("quay", OneBoat())

    def read() -> Parcel:
        return reader.read(str(topic.encode(), "ascii"), payload, mid=70000, qos=0, session=1, retained=False)

    read()  # what is kept of a vessel and a topic is not the parcel's
    tracemalloc.start()
    before, _ = tracemalloc.get_traced_memory()
    parcels = [read() for _ in range(20)]
    taken = (tracemalloc.get_traced_memory()[0] - before) / len(parcels)
    tracemalloc.stop()
    assert 0.5 < held_bytes(parcels[0]) / taken < 2.0, f"{held_bytes(parcels[0])} said, {taken:.0f} taken"
