"""A real HTTP server that takes line protocol as the InfluxDB v2 API documents it, and fails as it is told to."""

import gzip
import socket
import threading
from collections.abc import Callable
from contextlib import suppress
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any
from urllib.parse import parse_qs, urlsplit


class Receiver(ThreadingHTTPServer):
    """Keeps what it was sent.

    Attributes:
        answers: gives the status for some lines; 204 takes them.
        points: the fields of each point taken, by its series and time.
        lines: every line taken, in order.
        asked: the query of each request that was taken.
        requests: how many requests came.
    """

    daemon_threads = True

    def __init__(self, port: int = 0) -> None:
        super().__init__(("127.0.0.1", port), Handler)
        self._open: list[socket.socket] = []
        self.answers: Callable[[list[str]], int] = lambda _: 204
        self.points: dict[str, dict[str, str]] = {}
        self.lines: list[str] = []
        self.asked: list[dict[str, list[str]]] = []
        self.requests = 0
        self._thread = threading.Thread(target=self.serve_forever, kwargs={"poll_interval": 0.05})
        self._thread.start()

    @property
    def url(self) -> str:
        """Its address."""
        return f"http://127.0.0.1:{self.server_port}"

    def stop(self) -> None:
        """Stop it, and close what is connected."""
        self.shutdown()
        self._thread.join()
        self.server_close()
        for connected in self._open:
            with suppress(OSError):
                connected.shutdown(socket.SHUT_RDWR)

    def process_request(self, request: Any, client_address: Any) -> None:
        """Note who is connected."""
        self._open.append(request)
        super().process_request(request, client_address)

    def take(self, line: str) -> None:
        """Keep a line: a point's fields are added to those it has."""
        self.lines.append(line)
        series, fields, at = line.rsplit(" ", 2)
        self.points.setdefault(f"{series} {at}", {}).update(field.split("=") for field in fields.split(","))


class Handler(BaseHTTPRequestHandler):
    """Answers one request."""

    server: Receiver
    protocol_version = "HTTP/1.1"

    def do_POST(self) -> None:
        body = self.rfile.read(int(self.headers["Content-Length"]))
        if self.headers.get("Content-Encoding") == "gzip":
            body = gzip.decompress(body)
        lines = body.decode().splitlines()
        self.server.requests += 1
        status = self.server.answers(lines)
        if status == 204:
            self.server.asked.append(parse_qs(urlsplit(self.path).query))
            for line in lines:
                self.server.take(line)
        self.send_response(status)
        self.send_header("Content-Length", "0")
        self.end_headers()

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002 - the base class's name
        """Say nothing."""
