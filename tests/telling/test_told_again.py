"""Who hears where a call is climbed again, duty changes hands, duty is the owner, or it was open at the first start."""

from boats import DAY, MINUTE
from telling.yard_told import ANNA, Told

from monitor.model.alert import AlertChange
from monitor.model.people import Duty, Rota
from monitor.model.scale import Priority
from monitor.model.vessel import Person

ALARM, WARNING = Priority.ALARM, Priority.WARNING
OPENED, SEEN, BACK = AlertChange.OPENED, AlertChange.ACKNOWLEDGED, AlertChange.REOPENED
WATER = "bilge/bilge"


def test_the_second_is_told_in_each_climb_anew() -> None:
    told = Told()
    told.event(0, OPENED, WATER, ALARM)
    told.event(20, SEEN, WATER, ALARM, actor="Anna")
    told.event(200, BACK, WATER, ALARM)
    told.event(206, SEEN, WATER, ALARM, actor="Anna")
    told.event(400, BACK, WATER, ALARM)
    told.clock(420)
    assert [line for line in told.lines(owners=False) if "escalated" in line] == [
        "15 Ben escalated",
        "415 Ben escalated",
    ]


def test_whoever_has_the_duty_now_hears_of_what_nobody_has() -> None:
    told = Told(rota=Rota(usual=Duty(first=("anna",)), weeks={"2013-W46": Duty(first=("ben",))}))
    monday_min = 7 * DAY / MINUTE
    told.event(monday_min - 120, OPENED, WATER, ALARM)
    told.clock(monday_min - 20)  # the duty changed at 08:00, an hour before T0 of that day
    ben = [n for n in told.notices if n.person == "Ben" and n.call]
    assert [n.reason for n in ben] == ["nobody has had it for 90 minutes, and you have the duty now"]


def test_an_owner_who_has_the_duty_is_told_as_duty_alone() -> None:
    told = Told()
    owner = Person(name="Anna", email=(ANNA.email or "").upper())
    told.vessels["boat-1"] = told.vessels["boat-1"].model_copy(update={"owner": owner})
    told.event(0, OPENED, WATER, ALARM)
    told.event(5, SEEN, WATER, ALARM, actor="Anna")
    told.event(60, AlertChange.ENDED, WATER, ALARM)
    told.clock(100)
    assert told.lines() == ["0 Anna new", "0 Anna new!", "70 Anna over"]


def test_who_had_what_was_open_at_a_first_start_is_still_known() -> None:
    before, told = Told(), Told()
    before.event(0, OPENED, WATER, WARNING)
    before.event(1, SEEN, WATER, WARNING, actor="Per")
    before.event(2, OPENED, "damp/cabin", WARNING)
    told.alerts = before.alerts
    told.alerts[f"boat-1/{WATER}"].acknowledged_by = "Per"
    told.telling.adopt(list(told.alerts.values()))
    told.event(100, AlertChange.ENDED, "damp/cabin", WARNING)
    assert [call.accepted_by for call in told.calls.values()] == ["Per"]
    assert all("None" not in notice.reason for notice in told.notices)
