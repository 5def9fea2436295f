"""Power that the yard cuts off on purpose, each night: nothing that rests for it is told as lost."""

from datetime import UTC, datetime, time

from aboard import Aboard
from boats import LAID_UP_MS
from test_battery import house
from test_battery import record as battery_record
from test_damp import HOLD, cool_cabin, cool_day, noisy
from test_damp import record as damp_record

from monitor.model.inputs import CalendarVersion
from monitor.model.surroundings import YardCalendar
from monitor.rules.battery import Batteries
from monitor.rules.damp import Damp

DAY_H = 24.0
OFF, ON = time(23), time(5)
NIGHTLY = YardCalendar(power_off=(OFF, ON))


def _is_off(hour: float) -> bool:
    of_day = (datetime.fromtimestamp(LAID_UP_MS / 1000, UTC).hour + hour) % 24
    return of_day >= OFF.hour or of_day <= ON.hour


def _volts(hour: float) -> float:
    # The pack of the hour at which the power comes back still says what it was.
    return 12.7 if _is_off(hour) else 13.5


def _humidity(hour: float) -> float:
    # What gathered in the cut takes three hours to be dried.
    return 70.0 if _is_off(hour) or _is_off(hour - 3) else 54.0


def _battery(calendar: YardCalendar) -> Aboard:
    aboard = Aboard(battery_record(charger=True), Batteries)
    aboard.watch.fold(CalendarVersion(calendar, LAID_UP_MS))
    return aboard


def test_a_charger_that_rests_in_each_nights_planned_cut_is_not_lost_when_the_power_comes_back() -> None:
    assert house()["voltage_sensor"] == "house-volts"
    sensors = {"house-volts": noisy(_volts, 1, 0.01)}
    assert _battery(NIGHTLY).live(10 * DAY_H, sensors).opened_h() == []
    # The same nights in a yard that plans no cut are told: the test could see it.
    assert _battery(YardCalendar()).live(10 * DAY_H, sensors).opened_h() != []


def test_a_charger_that_stays_off_after_a_planned_cut_is_lost() -> None:
    stays_off = {"house-volts": lambda hour: _volts(hour) if hour < 5 * DAY_H else 12.7}
    opened = _battery(NIGHTLY).live(8 * DAY_H, stays_off).opened_h()
    # Six hours of the cut, then 3.5 h until it is held for lost.
    assert 5 * DAY_H < opened[0] < 6 * DAY_H


def test_a_dehumidifier_that_rests_in_each_nights_planned_cut_has_not_stopped() -> None:
    sensors = {"outside": cool_day, "cabin": cool_cabin, "cabin-rh": noisy(_humidity, 2, 0.5)}
    told = {}
    for name, calendar in (("planned", NIGHTLY), ("unplanned", YardCalendar())):
        aboard = Aboard(damp_record(HOLD), Damp)
        aboard.watch.fold(CalendarVersion(calendar, LAID_UP_MS))
        told[name] = aboard.live(14 * DAY_H, sensors).opened_h()
    assert told["planned"] == []
    assert told["unplanned"] != []
