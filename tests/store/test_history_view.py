"""When history is asked and when the journal, and what becomes of servers that answer nonsense, late or not at all."""

import http.server
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from boats import DAY, HOUR, LAID_UP_MS
from fixtures_broker import free_port
from history_kept import Kept, reading
from pytest_mock import MockerFixture

import monitor.store.history_view
from monitor.model.scale import Flag
from monitor.model.views import Bucket, Buckets
from monitor.store.history_config import HistoryConfig
from monitor.store.history_view import HistoryView, history_view
from monitor.store.view import JournalView

START = LAID_UP_MS // DAY * DAY
# As InfluxDB 2 documents its answer to a query: annotated CSV, a table a group key.
CSV = """#datatype,string,long,dateTime:RFC3339,double,string\r
#group,false,false,false,false,true\r
#default,_result,,,,\r
,result,table,_time,_value,sum\r
,,0,2013-11-01T00:00:00Z,4.5,low\r
,,0,2013-11-01T01:00:00Z,5,low\r
,,1,2013-11-01T00:00:00Z,6.5,high\r
,,1,2013-11-01T01:00:00Z,5,high\r
,,2,2013-11-01T00:00:00Z,5.5,mean\r
,,2,2013-11-01T01:00:00Z,5,mean\r
,,3,2013-11-01T00:00:00Z,2,count\r
,,3,2013-11-01T01:00:00Z,1,count\r
,,4,2013-11-01T00:00:00Z,1,worst\r
,,4,2013-11-01T01:00:00Z,3,worst\r
,,4,2013-11-01T02:00:00Z,4,worst\r
\r
"""


class Answering(http.server.ThreadingHTTPServer):
    """Answers every query alike."""

    def __init__(self, status: int, text: str) -> None:
        super().__init__(("127.0.0.1", 0), Handler)
        self.status, self.text, self.asked = status, text, list[str]()
        self._thread = threading.Thread(target=self.serve_forever, kwargs={"poll_interval": 0.05})
        self._thread.start()

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.server_port}"

    def stop(self) -> None:
        self.shutdown()
        self._thread.join()
        self.server_close()


class Handler(http.server.BaseHTTPRequestHandler):
    server: Answering

    def do_POST(self) -> None:
        self.server.asked.append(self.rfile.read(int(self.headers["Content-Length"])).decode())
        self.send_response(self.server.status)
        self.send_header("Content-Type", "text/csv")
        self.end_headers()
        self.wfile.write(self.server.text.encode())

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002 - the base class's name
        """Say nothing."""


@pytest.fixture
def journal(tmp_path: Path) -> Iterator[JournalView]:
    kept = Kept(tmp_path / "journal.sqlite")
    kept.append([reading(START + hour * HOUR, 1.0) for hour in range(20 * 24)])
    view = JournalView(kept.path)
    yield view
    view.close()
    kept.close()


class Counting:
    """A server that knows one bucket."""

    def __init__(self) -> None:
        self.asked = 0

    def read(self, vessel: str, sensor: str, start_ms: int, to_ms: int, step_ms: int) -> list[Bucket]:
        assert (vessel, sensor) == ("tern", "cabin")
        assert start_ms % step_ms == 0
        assert start_ms < to_ms
        self.asked += 1
        return [Bucket(start_ms, 7.0, 7.0, 7.0, 1, Flag.PASS)]

    def close(self) -> None:
        """There is nothing to close."""


def long_span(view: HistoryView | JournalView) -> Buckets:
    return view.buckets("tern", "cabin", START, START + 20 * DAY, 800)


def of(url: str, way: str, journal: JournalView, path: Path) -> HistoryView:
    config = HistoryConfig.model_validate({"url": url, "read": way, "timeout_s": 1})
    view = history_view(config, "quay", journal, path, lambda: True)
    assert view is not None
    return view


def test_without_the_setting_charts_come_from_the_journal_alone(journal: JournalView, tmp_path: Path) -> None:
    config = HistoryConfig(url="http://127.0.0.1:9")
    assert history_view(config, "quay", journal, tmp_path / "journal.sqlite", lambda: True) is None


def test_only_a_long_span_is_asked_of_history_and_only_once_it_has_all(journal: JournalView, tmp_path: Path) -> None:
    source, complete = Counting(), [False]
    view = HistoryView(source, journal, tmp_path / "journal.sqlite", lambda: complete[0])
    assert long_span(view) == long_span(journal)
    complete[0] = True
    assert long_span(view).buckets == [Bucket(START, 7.0, 7.0, 7.0, 1, Flag.PASS)]
    short = ("tern", "cabin", START, START + 2 * DAY, 800)
    assert view.buckets(*short) == journal.buckets(*short)
    assert view.newest("tern") == journal.newest("tern")
    assert source.asked == 1
    view.close()


def test_a_short_span_is_asked_of_history_where_the_journal_has_dropped_its_readings(
    journal: JournalView, tmp_path: Path
) -> None:
    kept = Kept(tmp_path / "journal.sqlite")
    kept.journal._db.execute("UPDATE dropped SET to_ms = ?", (START + DAY,))
    kept.close()
    source = Counting()
    view = HistoryView(source, journal, tmp_path / "journal.sqlite", lambda: True)
    assert view.buckets("tern", "cabin", START, START + 6 * HOUR, 800).step_ms == 60_000
    assert journal.buckets("tern", "cabin", START, START + 6 * HOUR, 800).step_ms == HOUR
    view.buckets("tern", "cabin", START + 2 * DAY, START + 3 * DAY, 800)
    assert source.asked == 1
    view.close()


@pytest.mark.parametrize("way", ["prometheus", "flux"])
@pytest.mark.parametrize(
    ("status", "text", "said"),
    [
        (200, "<html>welcome</html>", "its answer is none"),
        (200, '{"status": "success", "data": {"result": [{}]}}', "its answer is none"),
        (401, "no", "401"),
        (503, "later", "503"),
    ],
)
def test_a_server_that_cannot_say_leaves_it_to_the_journal(
    way: str, status: int, text: str, said: str, journal: JournalView, tmp_path: Path
) -> None:
    server = Answering(status, text)
    view = of(server.url, way, journal, tmp_path / "journal.sqlite")
    assert long_span(view) == long_span(journal)
    assert said in (view.failing or "")
    assert view.failing in next(view.delays())
    view.close()
    server.stop()


@pytest.mark.parametrize("way", ["prometheus", "flux"])
def test_a_server_that_is_not_there_is_asked_once_and_again_after_a_while(
    way: str, journal: JournalView, tmp_path: Path, mocker: MockerFixture
) -> None:
    mocker.patch.object(monitor.store.history_view, "ASK_AGAIN_AFTER_S", 0.2)
    source = Counting()
    view = of(f"http://127.0.0.1:{free_port()}", way, journal, tmp_path / "journal.sqlite")
    assert long_span(view) == long_span(journal)
    assert view.failing is not None
    view._source = source
    assert long_span(view) == long_span(journal)
    assert source.asked == 0
    time.sleep(0.25)
    assert long_span(view).buckets[0].mean == 7.0
    assert list(view.delays()) == []


def test_a_flux_answer_is_read_as_influxdb_documents_it(journal: JournalView, tmp_path: Path) -> None:
    server = Answering(200, CSV)
    view = of(server.url, "flux", journal, tmp_path / "journal.sqlite")
    found = view.buckets("tern", "cabin", START + 5, START + 20 * DAY + 5, 800)
    assert view.failing is None
    assert found.buckets == [
        Bucket(START, 4.5, 6.5, 5.5, 2, Flag.PASS),
        Bucket(START + HOUR, 5.0, 5.0, 5.0, 1, Flag.SUSPECT),
        Bucket(START + 2 * HOUR, None, None, None, 0, Flag.FAIL),
    ]
    (asked,) = server.asked
    # Whole steps from the day on, so that no window is cut short.
    assert "range(start: 2013-11-01T00:00:00.000Z, stop: 2013-11-21T01:00:00.000Z)" in asked
    assert asked.count("every: 3600000ms") == 5
    view.close()
    server.stop()
