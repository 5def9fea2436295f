"""A winter that goes in haste to a time and from there at the pace of the wall, over a real broker."""

import threading
from pathlib import Path
from time import monotonic

import pytest
from ear import Ear

from monitor.cli import main
from monitor.cli.demo_live import LiveLine
from simulator.broker import start_broker
from simulator.pace import Pace
from simulator.publish import TELLS_TIME_EVERY_S, Progress, PublisherConfig, publish_winter
from simulator.winter import yard_winter
from simulator.yard import YARD

CLOCK = f"layup/{YARD}/agent/clock"
DAY_MS = 86_400_000
HALF_AN_HOUR_MS = 1_800_000


def test_from_its_time_on_a_second_takes_a_second() -> None:
    pace = Pace(begins_ms=0, wall_s_per_ms=0.0, live_from_ms=DAY_MS, started=monotonic())
    assert pace.due(DAY_MS) == pace.started
    assert pace.now_ms(monotonic()) is None
    first, second = pace.due(DAY_MS + 1_000), pace.due(DAY_MS + 61_000)
    assert second - first == pytest.approx(60.0)
    assert pace.now_ms(second) == pytest.approx(DAY_MS + 61_000, abs=2)


def test_what_is_before_it_takes_the_minutes_it_is_given() -> None:
    pace = Pace(begins_ms=0, wall_s_per_ms=60 / DAY_MS, live_from_ms=DAY_MS, started=monotonic())
    assert pace.due(DAY_MS // 2) - pace.started == pytest.approx(30.0)
    assert pace.due(DAY_MS + 1_000) - pace.started == pytest.approx(61.0)


def test_between_two_packs_the_time_is_told_as_it_goes_by() -> None:
    winter = yard_winter()
    live_ms = winter.plan.begins_ms + DAY_MS + HALF_AN_HOUR_MS
    broker, stop = start_broker(), threading.Event()
    try:
        ear = Ear(broker.host, broker.port)
        config = PublisherConfig(broker.host, broker.port, minutes=0, live_from_ms=live_ms)
        reports: list[Progress] = []
        publishing = threading.Thread(target=publish_winter, args=(config, stop.is_set, reports.append))
        publishing.start()
        stop.wait(3 + 2.5 * TELLS_TIME_EVERY_S)
        stop.set()
        publishing.join(10)
        told = [int(payload) for topic, payload in ear.heard if topic == CLOCK]
        ear.close()
    finally:
        broker.stop()
    live = [at_ms - live_ms for at_ms in told if at_ms > live_ms]
    assert max(at_ms for at_ms in told if at_ms <= live_ms) == live_ms - HALF_AN_HOUR_MS
    assert len(live) >= 2
    assert live == sorted(live)
    assert live[0] == pytest.approx(1000 * TELLS_TIME_EVERY_S, abs=2_000)
    assert live[1] - live[0] == pytest.approx(1000 * TELLS_TIME_EVERY_S, abs=2_000)
    assert not reports[-1].done


def test_the_terminal_says_once_that_the_haste_is_over(capsys: pytest.CaptureFixture[str]) -> None:
    live, never = LiveLine(DAY_MS), LiveLine(None)
    live.at(DAY_MS - 1)
    never.at(DAY_MS)
    assert capsys.readouterr().err == ""
    live.at(DAY_MS)
    live.at(DAY_MS + 1)
    assert capsys.readouterr().err == "\nlive:   the winter goes at the pace of your clock now\n"


@pytest.mark.parametrize(
    ("day", "said"), [("2015-07-01", "this winter goes from 2013-10-31 20:00"), ("soon", "'soon' is no day")]
)
def test_a_day_that_is_not_in_the_winter_is_refused(
    day: str, said: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    try:
        status = main(["demo", "--headless", "--live", day, "--keep", str(tmp_path / "kept")])
    except SystemExit as error:
        status = int(error.code or 0)
    assert status == 2
    assert said in capsys.readouterr().err
