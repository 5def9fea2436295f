"""A yard that is watched in earnest, served as the agent serves it, for whoever means it ill."""

import sys
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

sys.path.extend(str(Path(__file__).parents[1] / room) for room in ("web", "faults", "notify"))

from watched import WatchedYard, flooded_yard

from monitor.serving import PageServer
from monitor.settings import Web
from monitor.web import create_app
from tests.web.conftest import browser  # noqa: F401 - the fixture


@pytest.fixture
def yard(tmp_path: Path) -> Iterator[WatchedYard]:
    """A yard of one boat with water aboard, by the real watch and journal."""
    made = flooded_yard(tmp_path / "journal.db")
    yield made
    made.close()


@pytest.fixture
def served(yard: WatchedYard, tmp_path: Path) -> Iterator[str]:
    """Where its pages are, by the server that the agent starts."""
    server = PageServer(Web(host="127.0.0.1", port=0))
    deps = yard.deps(tmp_path / "cache")
    server.start(create_app(deps))
    yield server.address
    deps.changes.close()
    server.stop()


@pytest.fixture
def client(served: str) -> Iterator[httpx.Client]:
    """A client of those pages."""
    with httpx.Client(base_url=served, follow_redirects=True, timeout=20) as made:
        yield made
