"""What all tests share: programs they need, a real broker, and the yard they play in."""

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from by_costly_file import ByCostlyFile
from fixtures_broker import Broker
from xdist.remote import Producer


def pytest_xdist_make_scheduler(config: pytest.Config, log: Producer) -> ByCostlyFile:
    """Spread the tests over workers: see `by_costly_file`."""
    return ByCostlyFile(config, log)


@pytest.fixture(scope="session")
def require_program() -> Callable[[str], str]:
    """Give a function that finds a program by name, such as ``mosquitto`` or ``chromium``.

    A test that needs a program which is not there is skipped by name; in CI (``CI=true``) it fails.
    """
    return find_program


def find_program(name: str) -> str:
    """Find a program on PATH or beside it; skip the test where there is none, and in CI fail it."""
    path = shutil.which(name) or shutil.which(name, path="/usr/sbin:/usr/local/sbin:/sbin")
    if path is not None:
        return path
    reason = f"{name} is not installed"
    if os.environ.get("CI") == "true":
        pytest.fail(f"{reason}, and CI skips nothing")
    pytest.skip(reason)


@pytest.fixture
def broker(tmp_path: Path, require_program: Callable[[str], str]) -> Iterator[Broker]:
    """A running Mosquitto of our own settings, on a free port of the loopback address."""
    running = Broker(require_program("mosquitto"), tmp_path / "broker")
    running.start()
    yield running
    running.stop()
