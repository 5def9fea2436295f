"""The main job, end to end: a real winter, a real broker, every fault told by the right rule, and quiet boats quiet."""

import json
import signal
import subprocess
import sys
import time
from typing import Any

import pytest

from monitor.cli import main
from monitor.cli.outcome import vessels_of
from monitor.cli.replay import replay
from simulator.winter import yard_winter

PROGRAM = [sys.executable, "-m", "monitor"]
WITHIN_S = 240


@pytest.fixture(scope="module")
def demo() -> dict[str, Any]:
    done = subprocess.run(
        [*PROGRAM, "demo", "--headless", "--minutes", "0", "--json"],
        capture_output=True,
        text=True,
        timeout=WITHIN_S,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    outcome: dict[str, Any] = json.loads(done.stdout)  # one object and nothing else on standard output
    return outcome


@pytest.mark.timeout(WITHIN_S + 30)
class TestDemo:
    def test_everything_published_is_stored(self, demo: dict[str, Any]) -> None:
        assert demo["published"] == demo["stored"] > 250_000
        assert demo["cadence_s"] == 3600

    def test_there_are_twelve_boats_and_three_are_fine(self, demo: dict[str, Any]) -> None:
        assert len(demo["vessels"]) == 12
        assert sum(not told["faults"] for told in demo["vessels"].values()) == 3

    def test_every_fault_is_told_by_the_right_rule_after_it_began(self, demo: dict[str, Any]) -> None:
        for vessel, told in demo["vessels"].items():
            for fault in told["faults"]:
                by_rule = [a for a in told["alerts"] if a["rule"] in fault["expected_rules"]]
                assert by_rule, (vessel, fault)
                assert all(alert["opened"] >= fault["begins"] for alert in by_rule), (vessel, fault)
                assert any(alert["priority"] in {"warning", "alarm"} for alert in by_rule), (vessel, fault)

    def test_the_boats_that_are_fine_have_no_alarm_and_no_warning(self, demo: dict[str, Any]) -> None:
        for vessel, told in demo["vessels"].items():
            if not told["faults"]:
                assert [a for a in told["alerts"] if a["priority"] != "caution"] == [], vessel

    def test_replay_gives_the_same_alerts_as_the_demo(self, demo: dict[str, Any]) -> None:
        winter = yard_winter()
        readings, alerts = replay(winter)
        vessels = vessels_of([v.id for v in winter.vessels], winter.truth(), alerts.values())
        assert readings == demo["stored"]
        assert json.loads(json.dumps(vessels)) == demo["vessels"]

    def test_the_command_without_a_winter_replays_the_demo(
        self, demo: dict[str, Any], capsys: pytest.CaptureFixture[str]
    ) -> None:
        assert main(["replay", "--json"]) == 0
        found = json.loads(capsys.readouterr().out)
        assert (found["winter"], found["readings"]) == ("jfk-2013", demo["stored"])
        for vessel, told in demo["vessels"].items():
            replayed = found["vessels"][vessel]
            assert replayed["faults"] == told["faults"]
            assert all(alert.pop("events") for alert in replayed["alerts"])
            assert replayed["alerts"] == told["alerts"]


def test_a_demo_that_is_interrupted_ends_cleanly() -> None:
    running = subprocess.Popen(
        [*PROGRAM, "demo", "--headless", "--minutes", "60"], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    time.sleep(6)
    running.send_signal(signal.SIGINT)
    out, err = running.communicate(timeout=30)
    assert running.returncode == 130, err
    assert "Traceback" not in err
    assert out == ""
