"""One frost night over many boats: the real program, its broker, its mail server and a receiver of webhooks.

``python -m tests.frost_night`` prints its count into deploy/docs; the test runs a small one.
"""

import json
import random
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from collections import Counter
from dataclasses import dataclass, field
from datetime import datetime
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

from fixtures_broker import Broker, free_port
from notify.servers import MailServer
from standardwebhooks import Webhook, WebhookVerificationError

from monitor.intake.senml import encode_pack
from monitor.model.document import write_vessel
from monitor.model.parcel import ClockMessage
from monitor.model.vessel import Person, Vessel
from simulator.library import read_winter
from simulator.link import Link
from simulator.winter import Message, Pack

NIGHT = Path(__file__).with_name("frost_night.toml")
PROGRAM = [sys.executable, "-m", "monitor"]
SECRET = "whsec_Y29sZGJlcnRoIGFjY2VwdGFuY2UgdGVzdCBrZXk="  # noqa: S105 - invented, for this test alone
SETTINGS = """
[yard]
id = "eiderhythe"
name = "Eiderhythe Boatyard"
[yard.calendar]
zone = "America/New_York"
[journal]
clock = "stream"
save_every_s = 0.5
[broker]
host = "127.0.0.1"
port = {broker}
[web]
port = {web}
[mail]
host = "127.0.0.1"
port = {mail}
security = "none"
sender = "coldberth@eiderhythe.example"
[webhook]
secret = "{secret}"
allow_private = true
[[people]]
id = "anna"
name = "Anna Invented"
email = "anna@eiderhythe.example"
channels = [{{ kind = "webhook", address = "http://127.0.0.1:{hook}/anna", rings = true }}]
[[people]]
id = "ben"
name = "Ben Invented"
email = "ben@eiderhythe.example"
[[people]]
id = "carl"
name = "Carl Invented"
email = "carl@eiderhythe.example"
roles = ["manager"]
[rota]
usual = {{ first = ["anna"], second = ["ben"], manager = ["carl"] }}
"""


class Receiver:
    """An HTTP server that takes webhooks and checks their signatures by another's library."""

    def __init__(self, port: int) -> None:
        self.port = port
        self.taken: list[tuple[str, dict[str, Any]]] = []
        self.forged = 0
        self._server: ThreadingHTTPServer | None = None

    def start(self) -> None:
        mine = self

        class Handler(BaseHTTPRequestHandler):
            def do_POST(self) -> None:
                body = self.rfile.read(int(self.headers["Content-Length"]))
                try:
                    told = Webhook(SECRET).verify(body, dict(self.headers.items()))
                except WebhookVerificationError:
                    mine.forged += 1
                    self.send_response(400)
                else:
                    mine.taken.append((self.headers["webhook-id"], told))
                    self.send_response(204)
                self.end_headers()

            def log_message(self, *_: object) -> None:
                """Say nothing."""

        self._server = ThreadingHTTPServer(("127.0.0.1", self.port), Handler)
        threading.Thread(target=self._server.serve_forever, daemon=True).start()

    def stop(self) -> None:
        if self._server is not None:
            self._server.shutdown()
            self._server.server_close()


@dataclass
class Count:
    """What came of a night, as a person reads it and a test holds it."""

    boats: int
    kills: int
    readings: int
    stored: int
    fleet_events: list[tuple[str, int]]
    notices: Counter[tuple[str, str]] = field(default_factory=Counter)
    planned: int = 0
    mails: int = 0
    hooks: int = 0
    lost: int = 0
    doubled: int = 0
    doubled_otherwise: int = 0
    waiting: int = 0


class FrostNight:
    """The night, its boats and the program."""

    def __init__(self, folder: Path, broker: Broker, boats: int) -> None:
        folder.mkdir(parents=True)
        self.folder, self.broker = folder, broker
        winter = read_winter(str(NIGHT), boats)
        self.vessels = [prepared(v, n, winter.plan.begins) for n, v in enumerate(winter.vessels, 1)]
        self.messages: list[Message] = [m for m in winter.stream() if isinstance(m, (ClockMessage, Pack))]
        self.mail, self.hook = MailServer(free_port()), Receiver(free_port())
        self.web = free_port()
        self.journal = folder / "coldberth.sqlite"
        self.settings = folder / "settings.toml"
        self.settings.write_text(
            SETTINGS.format(broker=broker.port, web=self.web, mail=self.mail.port, hook=self.hook.port, secret=SECRET)
        )
        self.log = folder / "log"
        self.kills = 0
        self.published = 0
        self._process: subprocess.Popen[bytes] | None = None

    def import_records(self) -> None:
        paths = []
        for vessel in self.vessels:
            paths.append(self.folder / f"{vessel.id}.toml")
            paths[-1].write_text(write_vessel(vessel))
        command = [*PROGRAM, "vessel", "import", "--settings", str(self.settings), *map(str, paths)]
        subprocess.run(command, check=True, timeout=120, stdout=subprocess.DEVNULL)

    def start(self) -> None:
        heard = self._log().count("listening at")
        with self.log.open("ab") as log:
            self._process = subprocess.Popen([*PROGRAM, "run", "--settings", self.settings], stderr=log)
        self._until(lambda: self._log().count("listening at") > heard, 60)

    def kill(self) -> None:
        assert self._process is not None
        self._process.send_signal(signal.SIGKILL)
        self._process.wait(10)
        self.kills += 1

    def stop(self) -> int:
        assert self._process is not None
        self._process.terminate()
        return self._process.wait(30)

    def close(self) -> None:
        if self._process is not None and self._process.poll() is None:
            self._process.kill()
            self._process.wait()
        self.mail.stop()
        self.hook.stop()

    def publish(self) -> None:
        link = Link("127.0.0.1", self.broker.port, "night", 200, lambda: False)
        link.connect()
        for message in self.messages:
            if isinstance(message, ClockMessage):
                link.publish("layup/eiderhythe/agent/clock", str(message.at_ms).encode(), 0)
            elif isinstance(message, Pack):
                topic = f"layup/eiderhythe/{message.vessel}/readings"
                link.publish(topic, encode_pack(message.readings), len(message.readings))
        link.drain()
        link.close(1.0)
        self.published = link.acknowledged

    def play(self, kills: int, seed: int) -> None:
        """Let the night pass while nobody takes mail or webhooks, with kills at random points."""
        source = random.Random(seed)
        publishing = threading.Thread(target=self.publish)
        publishing.start()
        while self.kills < kills and publishing.is_alive():
            time.sleep(source.uniform(0.5, 2.5))
            self.kill()
            self.start()
        publishing.join()
        self._until(lambda: self.rows("SELECT count(*) FROM reading")[0][0] >= self.published, 300)

    def deliver(self, kills: int, seed: int) -> None:
        """Let the servers come back, kill the program at random points while it sends, and wait until all is sent."""
        source = random.Random(seed)
        self.mail.start()
        self.hook.start()
        self.kill()
        self.start()
        for _ in range(kills):
            time.sleep(source.uniform(0.3, 1.2))
            self.kill()
            self.start()
        self._until(lambda: self.rows(_WAITING)[0][0] == 0, 240)

    def rows(self, query: str) -> list[tuple[Any, ...]]:
        with sqlite3.connect(f"file:{self.journal}?mode=ro", uri=True, timeout=30) as db:
            return db.execute(query).fetchall()

    def count(self) -> Count:
        """Count what was planned, sent, lost and doubled."""
        planned = {key for (key,) in self.rows("SELECT id FROM notice")}
        mails = [key.strip("<>").partition("@")[0] for key in self.mail.box.ids()]
        hooks = [key for key, _ in self.hook.taken]
        times = Counter(mails + hooks)
        return Count(
            boats=len(self.vessels),
            kills=self.kills,
            readings=self.published,
            stored=self.rows("SELECT count(*) FROM reading")[0][0],
            fleet_events=[
                (about, len(json.loads(vessels)))
                for about, vessels in self.rows("SELECT about, vessels FROM call WHERE kind = 'fleet'")
            ],
            notices=Counter(self.rows("SELECT CASE WHEN owner THEN 'owners' ELSE person END, kind FROM notice")),
            planned=len(planned),
            mails=len(mails),
            hooks=len(hooks),
            lost=sum(key not in times for key in planned),
            doubled=sum(n - 1 for n in times.values()),
            doubled_otherwise=sum(key not in planned for key in times),
            waiting=self.rows(_WAITING)[0][0],
        )

    def told(self) -> list[tuple[Any, ...]]:
        """Give what was told to whom and when, in event time; ids apart, in which the receivers' ports are."""
        return self.rows(
            "SELECT at_ms, channel, person, kind, owner, call, alerts, reason FROM notice ORDER BY 1, 2, 3, 4"
        )

    def _log(self) -> str:
        return self.log.read_text() if self.log.exists() else ""

    def _until(self, reached: Any, within_s: float) -> None:
        until = time.monotonic() + within_s
        while not reached():
            assert time.monotonic() < until, f"it did not come about in {within_s} s\n{self._log()[-4000:]}"
            time.sleep(0.1)


def prepared(vessel: Vessel, number: int, begins: datetime) -> Vessel:
    """Give a boat an owner, and lay her up when the night's story begins: before it nothing was heard of her."""
    owner = Person(name=f"Owner {number}", email=f"owner-{number}@example.org")
    return vessel.model_copy(update={"owner": owner, "laid_up": begins})


_WAITING = "SELECT count(*) FROM notice WHERE sent_ms IS NULL AND given_up_ms IS NULL"
