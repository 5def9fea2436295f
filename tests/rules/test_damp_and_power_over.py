"""Damp and power through their off-delays: what is over says so, with how it is now and when the alert clears."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from aboard import Aboard
from boats import HOUR, LAID_UP_MS, boat, sensor

from monitor.messages.words import Words, put_into_words
from monitor.model.alert import AlertChange
from monitor.model.finding import Finding
from monitor.model.scale import Priority
from monitor.model.surroundings import PlannedCut, Surroundings, YardCalendar
from monitor.model.vessel import Vessel
from monitor.rules.damp import Damp
from monitor.rules.damp_limits import LIMITS as DAMP
from monitor.rules.last_word import LastWord
from monitor.rules.power import Power
from monitor.rules.power_limits import LIMITS as POWER

DAMP_KINDS = ("dehumidifier stopped", "humid", "heat without drying", "mould", "condensation")


def saloon() -> Vessel:
    sensors = [sensor("outside", "temperature"), sensor("saloon-t", "temperature"), sensor("saloon-rh", "humidity")]
    space = {"id": "saloon", "name": "Saloon", "humidity_sensor": "saloon-rh", "temperature_sensor": "saloon-t"}
    return boat(
        sensors=sensors,
        liquid_systems=[],
        bilges=[],
        batteries=[],
        spaces=[space],
        dehumidifier={"running": True, "space": "saloon", "hold_below_rh": 60},
        shore_power={"on": True},
    )


def plugged() -> Vessel:
    sensors = [sensor("outside", "temperature"), sensor("mains", "mains")]
    power = {"on": True, "mains_sensor": "mains"}
    return boat(sensors=sensors, liquid_systems=[], bilges=[], batteries=[], spaces=[], shore_power=power)


def words(finding: Finding, aboard: Aboard) -> Words:
    return put_into_words(finding, aboard.record, ZoneInfo("UTC"), aboard.now_ms, strict=True)


def changes(aboard: Aboard) -> list[tuple[AlertChange, float]]:
    return [(e.change, (e.at_ms - LAID_UP_MS) / HOUR) for e in aboard.events]


def test_a_dehumidifier_that_dries_again_says_so_until_its_alert_clears() -> None:
    def humidity(hour: float) -> float:
        return 85.0 if 240 <= hour < 360 else 55.0

    aboard = Aboard(saloon(), Damp)
    air = {"outside": lambda _: 5.0, "saloon-t": lambda _: 8.0, "saloon-rh": humidity}
    aboard.live(359, air)
    before = aboard.findings()["dehumidifier"]
    assert (before.kind, before.over) == ("dehumidifier stopped", False)
    while not (said := aboard.findings().get("dehumidifier", before)).over:
        aboard.live(1, air)
        assert aboard.hour < 460
    ended_h, cleared_h = aboard.hour, aboard.hour + DAMP["off_delay"]
    assert "The air there is at 55 % and 8.0 °C." in words(said, aboard).what
    assert "was no longer dried, and is again" in words(said, aboard).title
    assert said.harm is None
    aboard.live(DAMP["off_delay"] - 2, air)
    assert aboard.findings()["dehumidifier"].over
    aboard.live(6, air)
    assert aboard.findings() == {}
    returned = [hour for change, hour in changes(aboard) if change is AlertChange.RETURNED]
    assert returned == [pytest.approx(cleared_h, abs=1.1)]
    assert ended_h < returned[0]


@pytest.mark.parametrize("kind", DAMP_KINDS)
def test_each_kind_of_damp_that_is_over_is_worded(kind: str) -> None:
    aboard = Aboard(saloon(), Damp)
    aboard.live(48, {"outside": lambda _: 5.0, "saloon-t": lambda _: 8.0, "saloon-rh": lambda _: 55.0})
    subject = "dehumidifier" if kind == "dehumidifier stopped" else "saloon"
    aboard.state.told[subject] = LastWord(kind, Priority.CAUTION, HOUR)
    rule = Damp(aboard.record)
    (finding,) = rule.judge(aboard.state, aboard.now_ms)
    assert finding.over
    assert finding.subject == subject
    assert "this alert clears at" in words(finding, aboard).what
    assert rule.next_look(aboard.state, aboard.now_ms) == aboard.now_ms + HOUR
    assert rule.judge(aboard.state, aboard.now_ms + HOUR) == []
    assert aboard.state.told == {}


def test_air_that_is_no_longer_heard_does_not_say_that_damp_is_over() -> None:
    aboard = Aboard(saloon(), Damp)
    aboard.live(48, {"outside": lambda _: 5.0, "saloon-t": lambda _: 8.0, "saloon-rh": lambda _: 55.0})
    aboard.live(12, {"outside": lambda _: 5.0})
    aboard.state.told["saloon"] = LastWord("condensation", Priority.CAUTION, HOUR)
    aboard.live(12, {"outside": lambda _: 5.0})
    assert {f.kind for f in aboard.findings().values()} == {"not known", "drying not known"}
    assert aboard.state.told["saloon"].ended_ms is None


def test_what_a_dehumidifier_that_stopped_explains_is_not_said_to_be_over() -> None:
    aboard = Aboard(saloon(), Damp)
    air = {"outside": lambda _: 5.0, "saloon-t": lambda _: 8.0, "saloon-rh": lambda h: 85.0 if h >= 240 else 55.0}
    aboard.live(330, air)
    aboard.state.told["saloon"] = LastWord("humid", Priority.CAUTION, 12 * HOUR)
    assert set(aboard.findings()) == {"dehumidifier"}
    assert "saloon" not in aboard.state.told


def test_power_that_is_back_says_so_until_its_alert_clears() -> None:
    aboard = Aboard(plugged(), Power)
    hour = 1 / 60
    shore = {"outside": lambda _: 12.0, "mains": lambda h: 0.0 if 5 <= h < 20 else 1.0}
    aboard.live(19, shore, every_h=0.5)
    assert not aboard.findings()["shore-power"].over
    aboard.live(0.5, shore, every_h=0.5)
    aboard.live(0.5 + 2 * hour, shore, every_h=hour)
    said = aboard.findings()["shore-power"]
    assert said.over
    assert words(said, aboard).title == "Shore power was gone, and is back"
    assert "Her mains sensor has said that it is there since" in words(said, aboard).what
    assert said.covers == ()
    aboard.live(POWER["back_for"] / 60 + 2 * hour, shore, every_h=hour)
    assert aboard.findings() == {}
    assert [change for change, _ in changes(aboard)][-1] is AlertChange.RETURNED


def test_power_of_which_nobody_knows_any_more_is_not_said_to_be_back() -> None:
    aboard = Aboard(plugged(), Power)
    aboard.live(19, {"outside": lambda _: 12.0, "mains": lambda h: 0.0 if h >= 5 else 1.0}, every_h=0.5)
    aboard.live(60, {"outside": lambda _: 12.0})
    assert not any(f.over for f in aboard.findings().values())


def test_a_planned_cut_after_a_loss_is_not_told_as_power_that_is_back() -> None:
    aboard = Aboard(plugged(), Power)
    aboard.live(19, {"outside": lambda _: 12.0, "mains": lambda _: 1.0}, every_h=0.5)
    aboard.state.told = LastWord("lost", Priority.WARNING, HOUR)
    aboard.state.gone_ms = aboard.now_ms
    rule = Power(aboard.record)
    begins = datetime.fromtimestamp(aboard.now_ms / 1000, UTC)
    cut = PlannedCut(begins=begins, ends=begins + timedelta(hours=4))
    rule.surroundings = Surroundings(calendar=YardCalendar(planned_cuts=(cut,)))
    assert rule.judge(aboard.state, aboard.now_ms + HOUR) == []
    assert aboard.state.told is None
