"""A sensor floods us with bare numbers, thousands a second: each is kept, none costs more, and no clock is moved."""

from boats import HOUR, LAID_UP_MS, boat

from monitor.fleet import BESIDE_MS, Fleet
from monitor.model.inputs import RecordVersion
from monitor.model.parcel import Parcel, RawReading

FIRST_MS = LAID_UP_MS + HOUR
A_SECOND = 5_000
READINGS = 20_000


class Asked:
    """What is stored, as far as a fleet may ask: its own batches; counts the questions."""

    def __init__(self) -> None:
        self.values: dict[int, float] = {}
        self.questions = 0

    def newest_stated_ms(self, _vessel: str, _sensor: str) -> int | None:
        return max(self.values, default=None)

    def value_at(self, _vessel: str, _sensor: str, stated_ms: int) -> float | None:
        self.questions += 1
        return self.values.get(stated_ms)

    def is_summed_up(self, _vessel: str, _sensor: str, _stated_ms: int) -> bool:
        return False


def test_each_of_many_numbers_in_one_millisecond_is_kept_and_asks_no_more_than_the_first() -> None:
    stored = Asked()
    fleet = Fleet(stored)
    fleet.command(RecordVersion(boat(), LAID_UP_MS, "test"))
    latest_ms = 0
    for number in range(READINGS):
        arrived_ms = FIRST_MS + number * 1000 // A_SECOND
        one = RawReading("tern", "engine-space", 4.0 + number % 5 / 10)
        fleet.take(Parcel(1, 0, 1, retained=False, topic="", readings=[one]), arrived_ms, caught_up=True)
        if number % 500 == 499:
            readings = [reading for _, reading in fleet.hand_over().readings]
            stored.values |= {reading.stated_ms: reading.value for reading in readings}
            latest_ms = max(latest_ms, *(reading.event_ms - reading.arrived_ms for reading in readings))
    assert len(stored.values) == READINGS
    assert stored.questions <= 4 * READINGS
    assert latest_ms <= BESIDE_MS
    assert fleet.watches["tern"].state.now_ms <= FIRST_MS + READINGS * 1000 // A_SECOND + BESIDE_MS
