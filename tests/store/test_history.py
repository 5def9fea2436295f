"""History follows the journal to a real HTTP server that speaks the write API, through an outage, losing nothing."""

import gzip
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import Future
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

import pytest
from boats import LAID_UP_MS, MINUTE, boat
from pytest_mock import MockerFixture

import monitor.store.history
from monitor.fleet import Fleet
from monitor.model.inputs import RecordVersion
from monitor.model.parcel import Parcel, RawReading
from monitor.store.history import History, HistoryConfig
from monitor.store.journal import Journal


class Receiver(ThreadingHTTPServer):
    """Takes line protocol as the InfluxDB v2 API documents it; answers 503 while it is told to be away."""

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), Handler)
        self.away = False
        self.refused = 0
        self.points: dict[str, str] = {}
        self.asked: list[dict[str, list[str]]] = []


class Handler(BaseHTTPRequestHandler):
    server: Receiver

    def do_POST(self) -> None:
        body = self.rfile.read(int(self.headers["Content-Length"]))
        if self.headers.get("Content-Encoding") == "gzip":
            body = gzip.decompress(body)
        if self.server.away:
            self.server.refused += 1
            self.send_response(503)
            self.end_headers()
            return
        self.server.asked.append(parse_qs(urlsplit(self.path).query))
        for line in body.decode().splitlines():
            series, fields, at = line.rsplit(" ", 2)
            self.server.points[f"{series} {at}"] = fields
        self.send_response(204)
        self.end_headers()

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002 - the base class's name
        """Say nothing."""


@pytest.fixture
def receiver() -> Iterator[Receiver]:
    server = Receiver()
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield server
    server.shutdown()
    thread.join()
    server.server_close()


def filled(path: Path, readings: int) -> Journal:
    journal = Journal(path)
    fleet = Fleet(journal)
    fleet.command(RecordVersion(boat(), LAID_UP_MS, "test"))
    for number in range(readings):
        at = LAID_UP_MS + number * MINUTE
        raw = RawReading("tern", "engine-space", number / 10, at)
        fleet.take(Parcel(1, 1, 1, retained=False, topic="", readings=[raw]), at, caught_up=True)
    journal.append(fleet.hand_over())
    return journal


def cursor_of(journal: Journal) -> Callable[[int], "Future[str | None]"]:
    def move(seq: int) -> "Future[str | None]":
        journal.move_cursor("history", seq)
        done: Future[str | None] = Future()
        done.set_result(None)
        return done

    return move


def until(reached: Callable[[], bool]) -> None:
    end = time.monotonic() + 20
    while not reached():
        assert time.monotonic() < end, "it did not come about in time"
        time.sleep(0.02)


def test_every_stored_reading_arrives_once_through_an_outage(
    tmp_path: Path, receiver: Receiver, mocker: MockerFixture
) -> None:
    mocker.patch.object(monitor.store.history, "FIRST_RETRY_S", 0.05)
    path = tmp_path / "journal.sqlite"
    journal = filled(path, 2500)
    config = HistoryConfig(url=f"http://127.0.0.1:{receiver.server_port}", org="yard", bucket="boats")
    receiver.away = True
    history = History(config, "quay", path, cursor_of(journal))
    history.start()
    until(lambda: receiver.refused >= 2)
    assert history.failing is not None
    receiver.away = False
    until(lambda: len(receiver.points) == 2500)
    until(lambda: history.failing is None)
    history.stop()
    at = LAID_UP_MS + 7 * MINUTE
    assert receiver.points[f"reading,yard=quay,vessel=tern,sensor=engine-space {at}"] == "value=0.7,flag=1i"
    assert receiver.asked[0] == {"org": ["yard"], "bucket": ["boats"], "precision": ["ms"]}
    # A second start goes on from the cursor, and sends nothing again.
    again = History(config, "quay", path, cursor_of(journal))
    asked = len(receiver.asked)
    again.start()
    time.sleep(0.3)
    again.stop()
    assert len(receiver.asked) == asked
    journal.close()
