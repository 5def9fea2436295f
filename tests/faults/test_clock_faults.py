"""The wall clock of the agent's machine is put forward and back: nothing is lost, and water is told at once."""

import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from boats import DAY, HOUR
from figures import held_against
from fixtures_broker import Broker, free_port
from gateways import Gateways, publish
from notify.servers import MailServer
from troubled import TroubledYard, boats, now_ms, records
from wall_put_off import LAUNCHER, Wall

COUNT = 6
SOON_S = 20.0
"""DESIGN gives a float a minute; this is what a loaded machine is allowed here."""


@pytest.fixture
def wall(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Wall:
    return Wall(tmp_path / "wall", monkeypatch)


@pytest.fixture
def mail() -> Iterator[MailServer]:
    server = MailServer(free_port()).start()
    yield server
    server.stop()


@pytest.fixture
def yard(tmp_path: Path, broker: Broker, wall: Wall, mail: MailServer) -> Iterator[TroubledYard]:
    wall.put_off(0)
    made = TroubledYard(tmp_path / "yard", broker, boats(COUNT), LAUNCHER, mail.port)
    yield made
    made.end()


def told_of_water_s(yard: TroubledYard, mail: MailServer, vessel: str, tell: Callable[[], object]) -> float:
    """Have a float go up, and give how long it takes until an alarm of hers is open and the duty person has it."""
    began = time.monotonic()
    tell()

    def is_told() -> bool:
        found = [a for a in yard.open_alerts() if a["vessel"] == vessel and a["rule"] == "bilge"]
        letters = [str(letter["Subject"]) for _, letter in mail.box.taken]
        name = vessel.replace("boat", "Boat ")
        return any(alert["priority"] == "alarm" for alert in found) and any(name in subject for subject in letters)

    yard.until(is_told, SOON_S, f"the alarm of {vessel}")
    return time.monotonic() - began


@pytest.mark.broker
@pytest.mark.slow
def test_a_wall_that_goes_forward_and_back_by_an_hour_costs_no_reading_and_makes_nobody_silent(
    yard: TroubledYard, broker: Broker, wall: Wall, mail: MailServer
) -> None:
    yard.start()
    gateways = Gateways(broker, [f"boat{n:03}" for n in range(COUNT - 2)], 2, 0.03)
    waited_s = []
    for step_ms, vessel in ((HOUR, "boat004"), (-HOUR, "boat005")):
        wall.put_off(step_ms)
        time.sleep(1.5)
        pack = (vessel, records(now_ms(), {"bilge-float": 1.0}))
        waited_s.append(told_of_water_s(yard, mail, vessel, lambda pack=pack: publish(broker, [pack])))
        wall.put_off(0)
        time.sleep(0.5)
    sent, acknowledged = gateways.stop()
    yard.until(lambda: yard.count() >= len(sent) + 10, 60, "storing")
    marked = yard.rows("SELECT count(*) FROM reading WHERE mark != 0")[0][0]
    silent = [alert for alert in yard.open_alerts() if alert["rule"] == "silence"]
    opened = yard.rows("SELECT max(abs(opened_ms - (SELECT min(stated_ms) FROM reading))) FROM alert")[0][0]
    assert yard.stop() == 0
    assert "minutes forward. It is not believed" in yard.log()
    assert "minutes ahead of the clock of the agent's machine" in yard.log()
    stored = yard.stored()
    floats = {key: value for key, value in stored.items() if key[0] in {"boat004", "boat005"}}
    held_against(
        "clock of the agent's machine put an hour forward, right, an hour back, right",
        yard,
        sent | floats,
        acknowledged + len(floats),
        f"mailed of water after {max(waited_s):.1f} s; readings marked {marked}; alerts of silence {len(silent)}",
    )
    assert (marked, silent, len(floats)) == (0, [], 10)
    assert opened < 5 * 60_000


@pytest.mark.broker
@pytest.mark.slow
def test_while_event_time_stands_a_year_ahead_water_is_told_at_once_and_nothing_is_lost(
    yard: TroubledYard, broker: Broker, wall: Wall, mail: MailServer
) -> None:
    wall.put_off(400 * DAY)
    yard.start()
    yard.until(lambda: bool(yard.rows("SELECT 1 FROM input WHERE kind = 'clock'")), what="a clock of the wrong year")
    wall.put_off(0)
    dry = [(f"boat{n:03}", records(now_ms())) for n in range(COUNT)]
    sent, acknowledged = publish(broker, dry)
    yard.until(lambda: yard.count() == len(sent))
    stated_s = told_of_water_s(
        yard, mail, "boat000", lambda: publish(broker, [("boat000", records(now_ms(), {"bilge-float": 1.0}))])
    )
    high_s = told_of_water_s(
        yard, mail, "boat001", lambda: publish(broker, [("boat001", records(now_ms(), {"bilge-level": 0.3}))])
    )
    yard.until(lambda: yard.count() == len(sent) + 10)
    assert yard.stop() == 0
    wet = {key: value for key, value in yard.stored().items() if key not in sent}
    held_against(
        "event time 400 days ahead after a start with a wrong clock",
        yard,
        sent | wet,
        acknowledged + len(wet),
        f"mailed of a float after {stated_s:.1f} s, of a level at its mark after {high_s:.1f} s",
    )
    assert len(wet) == 10
    assert "Times stated here are 400 days ahead" in yard.log()
