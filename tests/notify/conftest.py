"""Servers and messages for tests of notices."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from fixtures_broker import free_port
from servers import MailServer, make_certificate


@pytest.fixture
def mail_server() -> Iterator[MailServer]:
    """A running SMTP server without TLS and login."""
    server = MailServer(free_port()).start()
    yield server
    server.stop()


@pytest.fixture(scope="session")
def certificate(require_program: Callable[[str], str], tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A certificate for the loopback address, and its key."""
    return make_certificate(require_program("openssl"), tmp_path_factory.mktemp("certificate"))
