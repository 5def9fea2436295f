"""What tests of the pages share: a small yard, a client, a served app and a browser."""

import socket
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import httpx
import pytest
import uvicorn
from playwright.sync_api import Browser, Page, sync_playwright
from yards import Yard, small_yard

from monitor.web import Deps, create_app

FLAGS = (
    "--headless --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking"
    " --disable-component-update --disable-sync"
)


@pytest.fixture
def yard(tmp_path: Path) -> Iterator[Yard]:
    """A yard of ten boats, each of which shows one state."""
    made = small_yard(tmp_path / "journal.db")
    yield made
    made.close()


@pytest.fixture(scope="session")
def cache_dir(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the chart bundle is kept: made once for all tests."""
    return tmp_path_factory.mktemp("cache")


@pytest.fixture
def deps(yard: Yard, cache_dir: Path) -> Deps:
    """What the app is given."""
    return yard.deps(cache_dir)


class Served:
    """The app on a real server, on a port of its own."""

    def __init__(self, deps: Deps, port: int = 0) -> None:
        self._socket = socket.socket()
        self._socket.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        self._socket.bind(("127.0.0.1", port))
        self.port: int = self._socket.getsockname()[1]
        self.address = f"http://127.0.0.1:{self.port}"
        config = uvicorn.Config(create_app(deps), log_level="warning", ws="none", timeout_graceful_shutdown=2)
        self.server = uvicorn.Server(config)
        self._thread = threading.Thread(target=self.server.run, kwargs={"sockets": [self._socket]}, daemon=True)
        self._thread.start()
        until = time.monotonic() + 10
        while not self.server.started:
            assert time.monotonic() < until, "the server did not start"
            time.sleep(0.02)

    def stop(self) -> float:
        """Stop it, and give how long that took (s)."""
        began = time.monotonic()
        self.server.should_exit = True
        self._thread.join(10)
        self._socket.close()
        return time.monotonic() - began


@pytest.fixture
def serve() -> Iterator[Callable[[Deps], Served]]:
    """Give a function that serves an app until the test has ended."""
    running: list[tuple[Deps, Served]] = []

    def started(deps: Deps) -> Served:
        made = Served(deps)
        running.append((deps, made))
        return made

    yield started
    for deps, made in running:
        deps.changes.close()
        made.stop()


@pytest.fixture
def served(deps: Deps, serve: Callable[[Deps], Served]) -> Served:
    """The small yard, served."""
    return serve(deps)


@pytest.fixture
def client(served: Served) -> Iterator[httpx.Client]:
    """A client of the small yard's server."""
    with httpx.Client(base_url=served.address, follow_redirects=True) as made:
        yield made


@pytest.fixture
def ask(serve: Callable[[Deps], Served]) -> Iterator[Callable[[Deps], httpx.Client]]:
    """Give a function that serves an app and gives a client of it."""
    clients: list[httpx.Client] = []

    def asked(deps: Deps) -> httpx.Client:
        clients.append(httpx.Client(base_url=serve(deps).address, follow_redirects=True, timeout=20))
        return clients[-1]

    yield asked
    for client in clients:
        client.close()


@pytest.fixture(scope="module")
def browser(require_program: Callable[[str], str]) -> Iterator[Browser]:
    """A headless chromium. A module at a time: while it runs, no other event loop can in this thread."""
    path = require_program("chromium")
    with sync_playwright() as playwright:
        made = playwright.chromium.launch(executable_path=path, args=FLAGS.split())
        yield made
        made.close()


@dataclass
class Window:
    """A page, and what it complained of."""

    page: Page
    complaints: list[str]


@pytest.fixture
def open_window(browser: Browser, served: Served) -> Iterator[Callable[..., Window]]:
    """Give a function that opens an address of the served yard in a fresh browser profile."""
    contexts = []

    def opened(path: str, width: int = 1280, scheme: str = "light", *, javascript: bool = True) -> Window:
        context = browser.new_context(
            viewport={"width": width, "height": 900},
            color_scheme="dark" if scheme == "dark" else "light",
            java_script_enabled=javascript,
        )
        contexts.append(context)
        page = context.new_page()
        complaints: list[str] = []
        page.on("console", lambda m: complaints.append(m.text) if m.type in {"error", "warning"} else None)
        page.on("pageerror", lambda e: complaints.append(str(e)))
        page.goto(served.address + path)
        return Window(page, complaints)

    yield opened
    for context in contexts:
        context.close()
