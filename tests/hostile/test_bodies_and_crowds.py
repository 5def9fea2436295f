"""Bodies without end, headers like books, and crowds: each is refused, and the server goes on answering."""

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack
from itertools import repeat
from pathlib import Path
from urllib.parse import urlsplit

import httpx
import pytest
from pytest_mock import MockerFixture
from watched import WatchedYard

from monitor.model.document import DocumentError, read_vessel
from monitor.web.body_limit import LARGEST_BODY, LARGEST_RECORD, BodyLimit
from monitor.web.connections import BoundedConnection

RECORD = "/api/vessels/amber-lark/record"
ABOARD = "/api/vessels/amber-lark/aboard"


def alive(served: str) -> None:
    """It answers, soon."""
    began = time.monotonic()
    assert httpx.get(f"{served}/healthz", timeout=5).status_code == 200
    assert time.monotonic() - began < 5


def connect(served: str, source: str = "127.0.0.1") -> socket.socket:
    url = urlsplit(served)
    return socket.create_connection((str(url.hostname), int(url.port or 0)), timeout=10, source_address=(source, 0))


def all_of(link: socket.socket) -> bytes:
    answer = b""
    try:
        while piece := link.recv(65_536):
            answer += piece
    except ConnectionResetError:
        pass
    return answer


@pytest.mark.parametrize(("method", "path", "most"), [("PUT", RECORD, LARGEST_RECORD), ("POST", ABOARD, LARGEST_BODY)])
def test_a_body_that_says_it_is_gigabytes_is_refused_before_it_is_sent(
    served: str, method: str, path: str, most: int
) -> None:
    with connect(served) as link:
        link.sendall(
            f"{method} {path} HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
            f"Content-Length: 5000000000\r\n\r\n".encode()
        )
        answer = all_of(link)
    assert answer.startswith(b"HTTP/1.1 413 ")
    assert f"At most {most:,} bytes are taken here".encode() in answer
    alive(served)


@pytest.mark.parametrize("path", [RECORD, ABOARD, "/vessels/amber-lark/visit", "/sign-in", "/people/link"])
def test_a_body_without_end_is_refused_while_it_comes(served: str, path: str) -> None:
    sent = 0

    def endless() -> Iterator[bytes]:
        nonlocal sent
        for piece in repeat(b"x" * 65_536, 40_000):  # 2.6 GB
            sent += len(piece)
            yield piece

    method = "PUT" if path == RECORD else "POST"
    kind = "application/x-www-form-urlencoded" if "/api/" not in path else "application/json"
    try:
        answer = httpx.request(method, served + path, content=endless(), headers={"content-type": kind}, timeout=20)
    except (httpx.WriteError, httpx.ReadError, httpx.RemoteProtocolError):
        pass  # the server closed it without listening any longer
    else:
        assert answer.status_code in {413, 404, 405, 303}
    assert sent < 2_000_000_000
    alive(served)


def test_a_body_that_drips_is_given_up(yard: WatchedYard, served: str, mocker: MockerFixture) -> None:
    del yard
    mocker.patch.object(BodyLimit, "whole_within_s", 0.5)
    with connect(served) as link:
        link.sendall(
            f"POST {ABOARD} HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
            "Content-Length: 100\r\n\r\n{".encode()
        )
        assert all_of(link).startswith(b"HTTP/1.1 408 ")
    alive(served)


@pytest.mark.parametrize(
    "bomb",
    [
        b"X-A: " + b"a" * 200_000,
        b"\r\n".join(b"X-%d: a" % n for n in range(40_000)),
        b"Cookie: " + b"coldberth=a; " * 20_000,
        b"\x00\xff: \x01",
        b"Content-Length: -5",
        b"Transfer-Encoding: chunked, chunked, gzip",
    ],
)
def test_headers_like_books_and_headers_that_are_none_are_refused(served: str, bomb: bytes) -> None:
    with connect(served) as link:
        try:
            link.sendall(b"GET / HTTP/1.1\r\nHost: localhost\r\n" + bomb + b"\r\n\r\n")
            answer = all_of(link)
        except (BrokenPipeError, ConnectionResetError):
            answer = b""
    assert answer[:12] in {b"HTTP/1.1 400", b"HTTP/1.1 431", b"HTTP/1.1 413", b"HTTP/1.1 501", b""}
    alive(served)


def test_long_questions_are_answered_or_refused_and_never_break_it(served: str) -> None:
    for path in ("/api/alerts?vessel=", "/?", "/api/vessels/amber-lark/readings?sensor=", "/vessels/", "/link/"):
        status = httpx.get(served + path + "a%00%0d%0a" * 5_000, timeout=20).status_code
        assert status in {200, 400, 401, 404, 410, 414, 422}, path
    with connect(served) as link:
        link.sendall(b"GET /?" + b"a" * 500_000 + b" HTTP/1.1\r\nHost: localhost\r\n\r\n")
        assert all_of(link)[:12] in {b"HTTP/1.1 400", b"HTTP/1.1 414", b""}
    alive(served)


def test_a_crowd_of_one_address_is_held_off_and_others_are_answered(served: str) -> None:
    with ExitStack() as crowd:
        for _ in range(BoundedConnection.most_of_one_address + 80):
            crowd.enter_context(connect(served, "127.0.0.2")).sendall(b"GET / HTTP/1.1\r\n")
        late = crowd.enter_context(connect(served, "127.0.0.2"))
        assert all_of(late) == b""
        alive(served)


def test_connections_that_ask_nothing_are_closed(served: str, mocker: MockerFixture) -> None:
    mocker.patch.object(BoundedConnection, "asks_within_s", 0.3)
    with connect(served) as silent, connect(served) as half:
        half.sendall(b"GET / HTTP/1.1\r\nHost: loc")
        assert all_of(silent) == b""
        assert all_of(half) == b""
    alive(served)


def test_a_page_that_listens_is_not_taken_for_silent(served: str, mocker: MockerFixture) -> None:
    mocker.patch.object(BoundedConnection, "asks_within_s", 0.2)
    with httpx.stream("GET", f"{served}/changes", timeout=5) as listening:
        assert listening.status_code == 200
        time.sleep(1)
        alive(served)
        assert not listening.is_closed


def test_many_at_once_are_all_answered(served: str) -> None:
    statuses: list[int] = []
    threads = [
        threading.Thread(target=lambda: statuses.append(httpx.get(served, timeout=30).status_code)) for _ in range(40)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)
    assert statuses == [200] * 40


def test_documents_nested_a_thousand_deep_are_refused_in_words(client: httpx.Client) -> None:
    for kind, body in (
        ("application/json", '{"a":' * 20_000 + "1" + "}" * 20_000),
        ("application/json", "[" * 50_000),
        ("application/toml", "a = " + "[" * 50_000),
        ("application/toml", "a = " + "{a = " * 20_000),
        ("application/toml", "a" + ".a" * 20_000 + " = 1"),
        ("application/json", '{"id":"\\ud800"}'),
        ("application/json", "9" * 10_000),
        ("application/toml", "a = " + "9" * 10_000),
    ):
        answer = client.put(RECORD, content=body, headers={"content-type": kind})
        assert answer.status_code == 422, body[:20]


def test_a_record_of_as_many_sensors_as_fit_is_judged_in_seconds(client: httpx.Client, tmp_path: Path) -> None:
    del tmp_path
    sensors = ",".join(
        f'{{"id":"s{n}","quantity":"level","place":"a","interval_s":60,"supply":"own cell"}}' for n in range(11_000)
    )
    began = time.monotonic()
    answer = client.put(RECORD, content=f'{{"id":"amber-lark","sensors":[{sensors}]}}', timeout=60)
    assert answer.status_code == 422
    assert time.monotonic() - began < 10


def test_a_document_whose_keys_have_thousands_of_parts_is_refused_at_once() -> None:
    for key in ("a" + ".a" * 200_000, '"a"' + "." + '"a".' * 100_000 + "a", "a" + " . a" * 100_000, "a" * 900_000):
        for text in (f"{key} = 1", f"[{key}]\n", f"x = {{ {key} = 1 }}"):
            began = time.monotonic()
            with pytest.raises(DocumentError):
                read_vessel(text, "a.toml")
            assert time.monotonic() - began < 2, text[:20]
