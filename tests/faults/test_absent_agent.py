"""Ten thousand readings wait for an agent that was away: all are stored, and alerts are those of their time."""

import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from boats import HOUR, MINUTE
from figures import held_against
from fixtures_broker import Broker
from gateways import publish
from troubled import TroubledYard, boats, now_ms, records
from wall_put_off import LAUNCHER, Wall

from monitor.fleet import Fleet, NothingStored
from monitor.model.inputs import RecordVersion
from monitor.model.parcel import Parcel, RawReading
from monitor.model.vessel import Vessel

COUNT, STEPS, STEP_MS = 40, 52, 10 * MINUTE
Packs = list[tuple[str, list[tuple[str, str, int, float]]]]
FALLS_SILENT = "boat003"


def story(begins_ms: int) -> Packs:
    """Hours of a yard: a float goes up and down, an engine freezes, a battery goes flat, a gateway falls silent."""
    packs: Packs = []
    for step in range(STEPS):
        for n in range(COUNT):
            vessel, at_ms = f"boat{n:03}", begins_ms + step * STEP_MS + n * 1000
            values = {"outside": 5 + step % 3 / 10, "house-volts": 12.7 + step % 2 / 100}
            if n == 0 and 10 <= step < 20:
                values |= {"bilge-float": 1.0, "bilge-level": 0.15}
            if n == 1:
                values["engine-space"] = max(6.0 - step, -30.0)
            if n == 2:
                values["house-volts"] = 12.7 - step * 0.05
            if vessel == FALLS_SILENT and step >= 5:
                continue
            packs.append((vessel, records(at_ms, values)))
    return packs


def events_of_their_time(vessels: list[Vessel], packs: Packs, begins_ms: int) -> list[tuple[str, str, int]]:
    """What the same readings bring about where each is heard when it is said: alert, change, time (ms)."""
    fleet = Fleet(NothingStored())
    for vessel in vessels:
        fleet.command(RecordVersion(vessel, begins_ms, "test"))
    for vessel_id, pack in packs:
        readings = [RawReading(vessel_id, name, value, at_ms) for name, _, at_ms, value in pack]
        fleet.clock(pack[0][2] // MINUTE * MINUTE)
        fleet.take(Parcel(1, 1, 1, retained=False, topic="", readings=readings), pack[0][2], caught_up=True)
    batch = fleet.hand_over()
    silence = {alert.id for alert in batch.alerts.values() if alert.rule == "silence"}
    events = [event for _, _, event in batch.events]
    return [(event.alert, event.change.value, event.at_ms) for event in events if event.alert not in silence]


@pytest.fixture
def wall(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Wall:
    return Wall(tmp_path / "wall", monkeypatch)


@pytest.fixture
def absent(tmp_path: Path, broker: Broker, wall: Wall) -> Iterator[TroubledYard]:
    """A yard whose agent was there nine hours ago, and has not been since."""
    wall.put_off(-9 * HOUR)
    yard = TroubledYard(tmp_path / "yard", broker, boats(COUNT), LAUNCHER)
    yard.start()
    assert yard.stop() == 0
    wall.put_off(0)
    yield yard
    yard.end()


@pytest.mark.broker
@pytest.mark.slow
def test_what_waited_for_an_absent_agent_brings_about_what_it_would_have_at_its_time(
    absent: TroubledYard, broker: Broker
) -> None:
    begins_ms = now_ms() - STEPS * STEP_MS
    packs = story(begins_ms)
    sent, acknowledged = publish(broker, packs)
    began = time.monotonic()
    absent.start()
    absent.until(lambda: absent.count() >= len(sent), 120, f"storing {len(sent)} readings")
    caught_up_s = time.monotonic() - began
    time.sleep(3)  # the wall makes ticks again
    query = (
        "SELECT e.alert, e.change, e.at_ms FROM alert_event e JOIN alert a ON a.id = e.alert"
        " WHERE rule != 'silence' ORDER BY e.at_ms, e.alert, e.change"
    )
    come = [event for event in absent.rows(query) if event[2] <= packs[-1][1][0][2]]
    silent = {vessel for (vessel,) in absent.rows("SELECT DISTINCT vessel FROM alert WHERE rule = 'silence'")}
    assert absent.stop() == 0
    events = events_of_their_time(boats(COUNT), packs, begins_ms)
    assert absent.log().count("the broker had no session of ours") == 1, "at its first start"
    figures = held_against(
        "agent absent for nine hours, with readings queued for it",
        absent,
        sent,
        acknowledged,
        f"{len(come)} alert events, as at their time; all stored {caught_up_s:.1f} s after the start;"
        f" falsely called silent {len(silent - {FALLS_SILENT})}",
    )
    assert figures.published >= 10_000
    assert silent <= {FALLS_SILENT}
    assert len(come) == 7
    assert come == sorted(events, key=lambda event: (event[2], event[0], event[1]))
