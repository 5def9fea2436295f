"""``coldberth publish``: to any broker, and what it says where it cannot."""

import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from fixtures_broker import Broker, free_port
from paho.mqtt import subscribe
from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion

from monitor.cli import main
from monitor.model.document import read_vessel

PROGRAM = [sys.executable, "-m", "monitor", "publish"]


def publish(*options: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([*PROGRAM, *options], capture_output=True, text=True, timeout=60, check=False)


def subscribe_for_later(port: int) -> None:
    """Have the broker keep what is published from now on for a subscriber that is away."""
    client = Client(CallbackAPIVersion.VERSION2, client_id="later", clean_session=False)
    client.on_subscribe = lambda *_: client.disconnect()
    client.on_connect = lambda *_: client.subscribe("layup/#", 1)
    client.connect("127.0.0.1", port)
    client.loop_forever()


@pytest.mark.broker
def test_two_days_of_the_demos_winter_are_published_and_counted(broker: Broker) -> None:
    done = publish("--port", str(broker.port), "--minutes", "0", "--days", "2")
    assert done.returncode == 0, done.stderr
    assert done.stdout == ""
    # Twelve boats, 48 hours, six or seven sensors each; one in a thousand gets lost.
    readings = int(done.stderr.split()[0])
    assert 12 * 48 * 6 * 0.99 < readings < 12 * 48 * 7.5
    assert done.stderr.endswith("readings published\n")


@pytest.mark.broker
def test_a_winter_by_name_with_fewer_boats_goes_to_the_yard_that_is_named(broker: Broker, tmp_path: Path) -> None:
    subscribe_for_later(broker.port)
    options = ["jfk-2013", "--vessels", "2", "--cadence", "600", "--yard", "quay", "--records", str(tmp_path / "new")]
    done = publish("--port", str(broker.port), "--minutes", "0", "--days", "1", "--no-clock", *options)
    assert done.returncode == 0, done.stderr
    heard = subscribe.simple("layup/#", 1, 2 * 144, port=broker.port, client_id="later", clean_session=False)
    records = [read_vessel(path.read_text("utf-8"), path.name) for path in (tmp_path / "new").iterdir()]
    assert {(r.yard, r.sensors[0].interval_s) for r in records} == {("quay", 600.0)}
    assert {message.topic for message in heard} == {f"layup/quay/{r.id}/readings" for r in records}
    # Two boats, ten-minute packs of a day, and no clock: `simple` ends with the last of them.
    assert len(heard) == 2 * 144


def test_a_winter_that_is_not_there_is_said_so(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["publish", "summer"]) == 2
    assert "there is no winter 'summer'" in capsys.readouterr().err


@pytest.mark.broker
def test_ctrl_c_ends_it_with_its_count(broker: Broker) -> None:
    options = ["--port", str(broker.port), "--speed", "36000", "--from-now"]
    running = subprocess.Popen([*PROGRAM, *options], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    time.sleep(4)
    running.send_signal(signal.SIGINT)
    out, err = running.communicate(timeout=10)
    assert running.returncode == 130, err
    assert out == ""
    assert "Traceback" not in err
    assert "its times run ahead of the wall clock" in err
    assert int(err.splitlines()[-1].split()[0]) > 100


def test_where_no_broker_answers_it_says_so_and_ends() -> None:
    port = free_port()
    done = publish("--port", str(port))
    assert done.returncode == 2
    assert f"no broker answers at 127.0.0.1:{port}" in done.stderr
    assert "--host and --port" in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--port", "70000"], "argument --port: 70000 is not between 1 and 65535"),
        (["--port", "mqtt"], "argument --port: 'mqtt' is not a whole number"),
        (["--speed", "0"], "argument --speed: 0 is not between 0.001 and 1e+09"),
        (["--speed", "fast"], "argument --speed: 'fast' is not a number"),
        (["--speed", "1", "--minutes", "1"], "--minutes: not allowed with argument --speed"),
        (["--store", "0"], "argument --store: 0 is not between 1 and 1e+06"),
        (["--yard", "north/#"], "argument --yard: 'north/#' is no id: lower-case letters, digits and hyphens"),
        (["--vessels", "0"], "argument --vessels: 0 is not between 1 and 100000"),
    ],
)
def test_a_wrong_option_is_named_with_what_it_may_be(
    options: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit):
        main(["publish", *options])
    assert said in capsys.readouterr().err


def test_a_cadence_that_does_not_divide_the_hour_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["publish", "--cadence", "7"]) == 2
    assert "cadence_s is 7; it must divide an hour" in capsys.readouterr().err
