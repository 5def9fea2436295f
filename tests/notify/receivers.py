"""A real HTTP receiver that a test starts, stops, and tells how to answer."""

import ssl
import threading
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer


@dataclass(frozen=True)
class Got:
    """One request as it came."""

    path: str
    headers: dict[str, str]
    body: bytes


@dataclass
class Receiver:
    """Takes POSTs on a port of the loopback address that it keeps over restarts.

    Attributes:
        answers: what is answered instead of 200, by path; a list is used up one by one. Each a status, with headers.
        hang: while set, requests are read and not answered.
    """

    port: int
    context: ssl.SSLContext | None = None
    got: list[Got] = field(default_factory=list)
    answers: dict[str, list[tuple[int, dict[str, str]]]] = field(default_factory=dict)
    hang: threading.Event = field(default_factory=threading.Event)
    _server: ThreadingHTTPServer | None = None

    def start(self) -> "Receiver":
        receiver = self

        class Handler(BaseHTTPRequestHandler):
            def do_POST(self) -> None:
                body = self.rfile.read(int(self.headers["Content-Length"]))
                headers = {name.lower(): value for name, value in self.headers.items()}
                receiver.got.append(Got(self.path, headers, body))
                while receiver.hang.is_set():
                    receiver.hang.wait(0.01)
                planned = receiver.answers.get(self.path, [])
                status, more = planned.pop(0) if planned else (200, {})
                self.send_response(status)
                for name, value in more.items():
                    self.send_header(name, value)
                self.send_header("Content-Length", "0")
                self.end_headers()

            def log_message(self, *_: object) -> None:
                """Keep the test's output quiet."""

        self._server = ThreadingHTTPServer(("127.0.0.1", self.port), Handler)
        self._server.daemon_threads = True
        if self.context is not None:
            self._server.socket = self.context.wrap_socket(self._server.socket, server_side=True)
        threading.Thread(target=self._server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True).start()
        return self

    def stop(self) -> None:
        self.hang.clear()
        if self._server is not None:
            self._server.shutdown()
            self._server.server_close()
            self._server = None

    def url(self, path: str = "/hook") -> str:
        return f"{'http' if self.context is None else 'https'}://127.0.0.1:{self.port}{path}"

    def ids(self, path: str = "/hook") -> list[str]:
        return [got.headers["webhook-id"] for got in self.got if got.path == path]
