"""The demo's people, and telephones for them: a server on loopback that hears what they are sent and prints it."""

import base64
import json
import secrets
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

from monitor.model.people import Channel, ChannelKind, Duty, Role, Rota, YardPerson
from monitor.notify.webhook import WebhookConfig

LARGEST = 1_000_000
STILL_S = 3.0
_SECRET_BYTES = 32
_PEOPLE = {
    "jonah": ("Jonah Wick", Role.DUTY),
    "odile": ("Odile Marrick", Role.ENGINEER),
    "mabel": ("Mabel Orchard", Role.MANAGER),
}
ROTA = Rota(usual=Duty(first=("jonah",), second=("odile",), manager=("mabel",)))


@dataclass
class Phones:
    """The telephones while they are served.

    In a winter's haste there is too much to read, and what was planned then comes in after it: nothing is printed until
    the telephones have been still for a moment.

    Attributes:
        address: what the addresses of all of them begin with.
        is_live: says whether the demo goes at the pace of the clock now.
        webhook: how what is sent to them is signed.
    """

    address: str
    is_live: Callable[[], bool] = lambda: False
    webhook: WebhookConfig = field(
        default_factory=lambda: WebhookConfig.model_validate(
            {"secret": f"whsec_{base64.b64encode(secrets.token_bytes(_SECRET_BYTES)).decode()}", "allow_private": True}
        )
    )

    _unread: int = 0
    _last: float = field(default_factory=time.monotonic)
    _are_still: bool = False

    @property
    def people(self) -> tuple[YardPerson, ...]:
        """The demo yard's people, each with a telephone that rings."""
        return tuple(
            YardPerson(
                id=key,
                name=name,
                roles=(role,),
                channels=(Channel(kind=ChannelKind.WEBHOOK, address=f"{self.address}/{key}", rings=True),),
            )
            for key, (name, role) in _PEOPLE.items()
        )

    def heard(self, path: str, body: bytes) -> None:
        """Print what somebody is sent."""
        name, _ = _PEOPLE.get(path.strip("/"), (path, None))
        last, self._last = self._last, time.monotonic()
        self._are_still = self._are_still or (self.is_live() and self._last - last >= STILL_S)
        if not self._are_still:
            self._unread += 1
            return
        if self._unread:
            print(f"phones: {self._unread} messages in the weeks before", file=sys.stderr)
            self._unread = 0
        print(f"phone of {name}: {json.loads(body)['data']['title']}", file=sys.stderr, flush=True)


@contextmanager
def telephones() -> Iterator[Phones]:
    """Serve the telephones on a free port of loopback."""
    phones = Phones("")

    class Hears(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            length = int(self.headers.get("Content-Length", 0))
            if length > LARGEST:
                self.send_error(413)
                return
            phones.heard(self.path, self.rfile.read(length))
            self.send_response(204)
            self.end_headers()

        def log_message(self, format: str, *args: object) -> None:  # noqa: A002 - the library's own name
            """Say nothing of each request: what came is printed by itself."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Hears)
    phones.address = f"http://127.0.0.1:{server.server_address[1]}"
    serving = threading.Thread(target=server.serve_forever, daemon=True)
    serving.start()
    try:
        yield phones
    finally:
        server.shutdown()
        server.server_close()
        serving.join()
