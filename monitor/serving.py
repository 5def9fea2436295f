"""Serves the pages: binds their port, runs the server on a thread of its own, and ends it."""

import socket
import threading
import time

import uvicorn
from fastapi import FastAPI

from monitor.settings import Web
from monitor.web.connections import bounded_behind

STARTS_WITHIN_S = 15.0
JOIN_S = 10.0


class PageServer:
    """The server of the pages.

    Its port is bound at once, so that one that is taken ends the start with a plain error before anything runs.

    Raises:
        OSError: where the port cannot be had.
    """

    def __init__(self, web: Web) -> None:
        self._web = web
        self._listening = _listen(web)
        self._server: uvicorn.Server | None = None
        self._thread: threading.Thread | None = None

    @property
    def address(self) -> str:
        """Where the pages are, empty before they are served."""
        if self._server is None or not self._server.started:
            return ""
        host, port = self._server.servers[0].sockets[0].getsockname()[:2]
        return f"http://{host}:{port}"

    @property
    def died(self) -> bool:
        """Whether it was started and runs no more."""
        return self._thread is not None and not self._thread.is_alive()

    def start(self, app: FastAPI) -> None:
        """Start serving.

        Raises:
            OSError: where it does not start in time.
        """
        web = self._web
        config = uvicorn.Config(
            app,
            web.host,
            web.port,
            http=bounded_behind(web.proxies),
            forwarded_allow_ips=list(web.proxies),
            ws="none",
            log_level="warning",
            timeout_graceful_shutdown=2,
            server_header=False,
        )
        self._server = uvicorn.Server(config)
        self._thread = threading.Thread(target=self._server.run, args=([self._listening],), name="pages", daemon=True)
        self._thread.start()
        until = time.monotonic() + STARTS_WITHIN_S
        while not self._server.started and self._thread.is_alive() and time.monotonic() < until:
            time.sleep(0.02)
        if not self._server.started:
            raise OSError(f"the pages do not start at {web.host}:{web.port}")

    def stop(self) -> None:
        """End it."""
        if self._server is not None and self._thread is not None:
            self._server.should_exit = True
            self._thread.join(JOIN_S)
        self._listening.close()


def _listen(web: Web) -> socket.socket:
    family = socket.AF_INET6 if ":" in web.host else socket.AF_INET
    try:
        return socket.create_server((web.host, web.port), family=family)
    except OSError as error:
        raise OSError(f"the pages cannot be served at {web.host}:{web.port}: {error.strerror}") from error
