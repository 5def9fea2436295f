"""Who is told when: the ladder, gathering, quiet hours, owners, and what is over."""

from dataclasses import replace

import pytest
from telling.yard_told import ANNA, BEN, HOUR, T0, Told, people

from monitor.model.alert import AlertChange
from monitor.model.batch import Batch
from monitor.model.finding import TimeToHarm
from monitor.model.inputs import Aboard
from monitor.model.notice import NoticeKind
from monitor.model.people import ChannelKind, Duty, Rota
from monitor.model.scale import AlertState, Priority
from monitor.telling import Telling

ALARM, WARNING, CAUTION = Priority.ALARM, Priority.WARNING, Priority.CAUTION
OPENED, ENDED, SEEN = AlertChange.OPENED, AlertChange.ENDED, AlertChange.ACKNOWLEDGED
WATER = "bilge/bilge"


class TestAlarm:
    def test_it_climbs_while_nobody_has_it(self) -> None:
        told = Told()
        told.event(0, OPENED, WATER, ALARM)
        told.clock(300)
        assert told.lines(owners=False)[:6] == [
            "0 Anna new",
            "0 Anna new!",
            "15 Ben escalated",
            "30 Carl escalated",
            "90 Anna again",
            "90 Anna again!",
        ]

    def test_it_is_told_again_each_hour_and_not_for_ever(self) -> None:
        told = Told(repeat_at_most=2)
        told.event(0, OPENED, WATER, ALARM)
        told.clock(1000)
        assert [line for line in told.lines(owners=False) if "again" in line and "Ben" in line] == [
            "90 Ben again",
            "150 Ben again",
        ]

    def test_it_climbs_by_the_wall_while_no_clock_comes(self) -> None:
        told = Told()
        told.event(0, OPENED, WATER, ALARM)
        told.feed(Batch(wall_ms=T0 + 16 * 60_000))
        assert told.lines(owners=False)[-1] == "15 Ben escalated"

    def test_whoever_has_it_stops_the_ladder_and_her_owner_hears_who(self) -> None:
        told = Told()
        told.event(0, OPENED, WATER, ALARM)
        told.event(5, SEEN, WATER, ALARM, actor="Anna")
        told.clock(300)
        assert told.lines() == ["0 Anna new", "0 Anna new!", "5 Owner 1 new"]
        assert "Anna has it" in told.notices[-1].reason

    def test_her_owner_hears_after_a_quarter_of_an_hour_without_anybody_and_then_who_has_it(self) -> None:
        told = Told()
        told.event(0, OPENED, WATER, ALARM)
        told.clock(16)
        told.event(20, SEEN, WATER, ALARM, actor="Ben")
        assert told.lines(owners=True) == ["15 Owner 1 new", "20 Owner 1 taken"]
        assert "nobody has answered yet" in next(n for n in told.notices if n.owner).reason

    def test_a_priority_that_rises_begins_the_ladder_again(self) -> None:
        told = Told()
        told.event(0, OPENED, WATER, WARNING)
        told.event(12, SEEN, WATER, WARNING, actor="Anna")
        told.event(100, AlertChange.PRIORITY, WATER, ALARM)
        told.clock(116)
        assert told.lines(owners=False) == ["10 Anna new", "100 Anna worse", "100 Anna new!", "115 Ben escalated"]
        assert told.lines(owners=True) == ["12 Owner 1 new", "115 Owner 1 worse"]

    def test_a_priority_that_falls_tells_nobody(self) -> None:
        told = Told()
        told.event(0, OPENED, WATER, ALARM)
        told.event(1, SEEN, WATER, ALARM, actor="Anna")
        before = len(told.notices)
        told.event(5, AlertChange.PRIORITY, WATER, WARNING, state=AlertState.ACKNOWLEDGED)
        told.clock(60)
        assert told.lines(owners=False)[before:] == []

    def test_who_is_aboard_is_rung_first_and_duty_with_them(self) -> None:
        told = Told()
        told.aboard(0, "Ben", 120)
        told.event(5, OPENED, WATER, ALARM, water=True)
        assert told.lines() == ["5 Ben new", "5 Anna new", "5 Anna new!"]
        assert told.notices[0].reason == "you are aboard her"

    @pytest.mark.parametrize("how", ["over", "past", "wash-down"])
    def test_who_is_aboard_no_more_is_not(self, how: str) -> None:
        told = Told()
        told.aboard(0, "Ben", 60, Aboard.WASH_DOWN if how == "wash-down" else Aboard.PEOPLE)
        if how == "over":
            told.ashore(10)
        told.event(20 if how != "past" else 61, OPENED, WATER, ALARM, water=True)
        assert {n.person for n in told.notices} == {"Anna"}


class TestWarning:
    def test_it_waits_for_others_of_the_same_boat_and_goes_in_one_message(self) -> None:
        told = Told()
        told.event(0, OPENED, "frost/heads", harm_h=30)
        told.event(4, OPENED, "battery/house", harm_h=9)
        told.clock(11)
        (notice,) = told.notices
        assert (notice.person, notice.kind, notice.at_ms) == ("Anna", NoticeKind.NEW, T0 + 600_000)
        by_harm = [told.alerts["boat-1/battery/house"].id, told.alerts["boat-1/frost/heads"].id]
        assert list(notice.alerts) == by_harm
        assert len(told.calls) == 1

    def test_what_cleared_before_it_was_told_is_not_told(self) -> None:
        told = Told()
        told.event(0, OPENED)
        told.event(5, AlertChange.RETURNED)
        told.clock(60)
        assert told.notices == []

    def test_quiet_hours_hold_it_where_there_is_time(self) -> None:
        told = Told(everybody=people(anna=("22:00", "06:00")))
        told.clock(13 * 60)  # 22:00
        told.event(14 * 60, OPENED, harm_h=30)
        told.clock(30 * 60)
        assert told.lines(owners=False)[0] == f"{21 * 60} Anna new"  # 06:00
        (call,) = told.calls
        assert ("Anna", "held") in [(who, what) for _, who, what, _ in told.telling.trace(call)]

    def test_quiet_hours_hold_nothing_that_would_come_too_late(self) -> None:
        told = Told(everybody=people(anna=("22:00", "06:00")), attendance_h=2)
        told.event(14 * 60, OPENED, harm_h=8.5)  # 23:00 and 8.5 h: 07:30, less two hours to get there is before 06:00
        told.clock(15 * 60)
        assert told.lines(owners=False)[0] == f"{14 * 60 + 10} Anna new"

    def test_harm_that_comes_closer_breaks_the_hold_though_nothing_else_changed(self) -> None:
        told = Told(everybody=people(anna=("22:00", "06:00")))
        told.event(14 * 60, OPENED, harm_h=30)
        told.clock(15 * 60)
        assert told.notices == []
        alert = told.alerts["boat-1/frost/heads"]
        alert.finding = replace(alert.finding, harm=TimeToHarm(3 * 3600.0, None))
        told.feed(Batch(alerts={alert.id: alert}))
        assert told.lines(owners=False) == [f"{15 * 60} Anna new"]

    def test_one_that_somebody_had_meanwhile_is_dropped_in_the_morning(self) -> None:
        told = Told(everybody=people(anna=("22:00", "06:00")))
        told.event(14 * 60, OPENED, harm_h=40)
        told.event(15 * 60, SEEN, actor="Ben")
        told.clock(30 * 60)
        assert told.lines(owners=False) == []

    def test_one_that_nobody_saw_for_hours_rings_and_climbs(self) -> None:
        told = Told()
        told.event(0, OPENED)
        told.clock(10 + 4 * 60 + 31)
        assert told.lines(owners=False) == [
            "10 Anna new",
            "250 Anna worse",
            "250 Anna new!",
            "265 Ben escalated",
            "280 Carl escalated",
        ]

    def test_what_is_put_aside_is_told_to_nobody_until_it_is_back(self) -> None:
        told = Told()
        told.event(0, OPENED)
        told.event(2, AlertChange.SHELVED, actor="Anna")
        told.event(30, AlertChange.PRIORITY, priority=ALARM, state=AlertState.SHELVED)
        told.clock(60)
        assert told.notices == []
        told.event(120, AlertChange.BACK, priority=ALARM)
        assert told.lines() == ["120 Anna new", "120 Anna new!"]

    def test_an_owners_quiet_hours_hold_it_from_them(self) -> None:
        owner = ANNA.model_copy(
            update={"id": "o", "name": "Owner 1", "email": "OWNER-1@example.org", "channels": (), "quiet": None}
        )
        quiet = people(o=("12:00", "18:00"))[:0] or (
            owner.model_copy(update={"quiet": people(anna=("12:00", "18:00"))[0].quiet}),
        )
        told = Told(everybody=(*people(), *quiet))
        told.event(4 * 60, OPENED)  # 13:00
        told.clock(12 * 60)
        assert told.lines(owners=True) == [f"{9 * 60} Owner 1 new"]  # 18:00


class TestOver:
    def test_whoever_was_told_hears_once_that_it_is_over(self) -> None:
        told = Told()
        told.event(0, OPENED, WATER, ALARM)
        told.event(1, SEEN, WATER, ALARM, actor="Anna")
        told.event(60, ENDED, WATER, ALARM)
        told.clock(200)
        assert told.lines()[2:] == ["1 Owner 1 new", "70 Anna over", "70 Owner 1 over"]
        (call,) = told.calls.values()
        assert call.ended_ms == T0 + 70 * 60_000
        assert told.telling.trace(call.id) == []

    def test_what_comes_back_within_minutes_is_not_over(self) -> None:
        told = Told()
        told.event(0, OPENED)
        told.clock(11)
        told.event(20, AlertChange.RETURNED)
        told.event(25, AlertChange.REOPENED)
        told.clock(40)
        assert [line for line in told.lines(owners=False) if "over" in line] == []

    def test_what_waits_for_somebody_aboard_is_told_as_over_once_and_its_call_stays(self) -> None:
        told = Told()
        told.event(0, OPENED, WATER, ALARM)
        told.event(1, SEEN, WATER, ALARM, actor="Anna")
        told.event(60, AlertChange.LATCHED, WATER, ALARM)
        told.clock(200)
        over = [n for n in told.notices if n.kind is NoticeKind.OVER and not n.owner]
        assert [n.person for n in over] == ["Anna"]
        assert "waits for somebody to go aboard" in over[0].reason
        (call,) = told.calls.values()
        assert call.ended_ms is None
        told.event(300, ENDED, WATER, ALARM)
        told.clock(400)
        assert len([n for n in told.notices if n.kind is NoticeKind.OVER and not n.owner]) == 1
        assert next(iter(told.calls.values())).ended_ms is not None


class TestPeople:
    def test_nobody_is_told_twice_at_one_address(self) -> None:
        twin = BEN.model_copy(update={"email": "ANNA@yard.example"})
        told = Told(everybody=(ANNA, twin), rota=Rota(usual=Duty(first=("anna", "ben"))))
        told.event(0, OPENED)
        told.clock(11)
        assert told.lines(owners=False) == ["10 Anna new"]

    def test_a_week_in_which_nobody_has_the_duty_goes_to_whoever_is_next(self) -> None:
        told = Told(rota=Rota(usual=Duty(manager=("carl",))))
        told.event(0, OPENED)
        told.clock(11)
        assert told.lines(owners=False) == ["10 Carl new"]
        assert told.notices[0].reason == "nobody has the duty this week, and you are next"

    def test_where_duty_cannot_be_reached_whoever_is_next_is_told_at_once(self) -> None:
        mute = ANNA.model_copy(update={"email": None, "channels": ()})
        told = Told(everybody=(mute, BEN))
        told.event(0, OPENED)
        told.clock(11)
        assert told.lines(owners=False) == ["10 Ben new"]
        assert told.notices[0].reason == "nobody who has the duty can be reached, and you are next"

    def test_somebody_who_left_is_told_no_more(self) -> None:
        told = Told()
        told.event(0, OPENED, WATER, ALARM)
        told.clock(20)
        told.roster = Told(everybody=(BEN,)).roster
        told.telling = told.made(told.kept)
        told.clock(100)
        assert [line for line in told.lines() if "again" in line] == ["90 Ben again"]

    def test_what_nobody_has_seen_is_told_anew_where_there_is_nothing_to_go_on_from(self) -> None:
        told = Told()
        told.event(0, OPENED, WATER, ALARM)
        told.event(1, OPENED, "battery/house")
        told.event(2, SEEN, "battery/house", actor="Anna")
        told.notices.clear()
        told.telling = told.made(None)
        told.telling.adopt(list(told.alerts.values()))
        told.clock(60)
        told.clock(80)
        assert told.lines(owners=False) == ["60 Anna new", "60 Anna new!", "75 Ben escalated"]

    def test_what_nobody_could_be_told_of_stays_to_be_told_and_an_alarm_climbs_on(self) -> None:
        mute = ANNA.model_copy(update={"email": None, "channels": ()})
        told = Told(everybody=(mute,))
        told.event(0, OPENED, WATER, ALARM)
        told.clock(20)
        assert told.lines(owners=False) == []
        told.roster = Told().roster
        told.telling = told.made(told.kept)
        told.clock(61)
        assert "60 Anna worse" in told.lines() or "60 Anna new" in told.lines()

    def test_what_there_is_no_sender_for_is_not_planned(self) -> None:
        told = Told()
        told.telling = Telling(told.roster, told.ladder, told.calendar, sendable=frozenset({ChannelKind.EMAIL}))
        told.event(0, OPENED, WATER, ALARM)
        assert told.lines() == ["0 Anna new"]

    def test_a_week_that_the_rota_names_is_another_persons(self) -> None:
        rota = Rota(usual=Duty(first=("anna",)), weeks={"2013-W45": Duty(first=("ben",))})
        told = Told(rota=rota)
        told.event(0, OPENED)
        told.clock(11)
        assert [n.person for n in told.notices] == ["Ben"]
        assert told.notices[0].reason == "you have the duty this week"

    def test_every_notice_says_why_and_no_two_have_one_id(self) -> None:
        told = Told(boats=4)
        for n in range(1, 5):
            told.event(n, OPENED, "frost/heads", ALARM, vessel=f"boat-{n}")
        told.clock(2000)
        assert all(n.reason for n in told.notices)
        assert len({n.id for n in told.notices}) == len(told.notices)


class TestDigest:
    def test_it_lists_cautions_that_opened_since_and_what_nobody_has(self) -> None:
        told = Told()
        told.clock(0)
        told.event(10, OPENED, "maintenance/visit", CAUTION)
        told.event(20, OPENED, "frost/heads", WARNING)
        told.clock(24 * 60)  # the next morning, 09:00
        (first,) = [n for n in told.notices if n.kind is NoticeKind.DIGEST]
        assert first.at_ms == T0 + 23 * HOUR  # 08:00
        assert first.person == "Anna"
        assert set(first.alerts) == {alert.id for alert in told.alerts.values()}
        told.event(24 * 60 + 1, SEEN, "frost/heads", WARNING, actor="Anna")
        told.clock(3 * 24 * 60)
        assert len([n for n in told.notices if n.kind is NoticeKind.DIGEST]) == 1

    def test_a_caution_alone_is_no_message(self) -> None:
        told = Told()
        told.event(10, OPENED, "maintenance/visit", CAUTION)
        told.clock(600)
        assert told.notices == []
        assert told.calls == {}


def test_it_is_known_when_the_next_is_told_while_nobody_has_it() -> None:
    told = Told()
    told.event(0, OPENED, WATER, ALARM)
    (call,) = told.calls
    assert told.telling.next_told_ms(call) == T0 + 15 * 60_000
    told.clock(16)
    assert told.telling.next_told_ms(call) == T0 + 30 * 60_000
    told.event(20, SEEN, WATER, ALARM, actor="Anna")
    assert told.telling.next_told_ms(call) is None
    assert told.telling.next_told_ms("no call of ours") is None
