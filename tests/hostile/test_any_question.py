"""Every route asked with odd paths, headers, queries and forms, signed in or not: never a broken answer."""

import gc
import re
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from random import Random
from urllib.parse import quote

import httpx
import pytest
from watched import WatchedYard

from monitor.model.access import Account, Grade
from monitor.serving import PageServer
from monitor.settings import Web
from monitor.store.access import AccessFile
from monitor.web import create_app
from monitor.web.door import wall_ms
from monitor.web.grades import LEAST, OPEN

ASKED = 1_500
WORDS = (
    *("", "0", "-1", "9" * 40, "1e999", "nan", "true", "null", "[]", "amber-lark", "..", "../../etc/passwd", "a/b"),
    *("\x00", "\r\nSet-Cookie: a=b", "\x1b[2J", "<script>hit()</script>", "' OR 1=1 --", "%s%n", "{{7*7}}", "${7}"),
    *("\N{SNOWMAN}", "\N{RIGHT-TO-LEFT OVERRIDE}a", "a" * 3_000, "2013-12-09T18:00:00Z", "9999-12-31T23:59:59+00:00"),
    *(
        "0001-01-01T00:00:00-23:59",
        "tomorrow",
        "25:00",
        "-0",
        "\u0661",
        "None",
        "/",
        "//a.example",
        "http://a.example/",
    ),
)
HEADERS = {
    "Authorization": (
        b"Bearer",
        b"Bearer \xff\xfe",
        b"Basic \xe9\xe9",
        b"Basic ====",
        b"Basic Og==",
        b"Bearer " + b"a" * 5_000,
    ),
    "Cookie": (b"coldberth=", b"coldberth=\xff", b"coldberth=" + b"a" * 5_000, b";;;==;", b"coldberth=a; coldberth=b"),
    "Last-Event-ID": (b"-1", b"\xff", b"9" * 40, b"nan", b"1_0"),
    "Accept": (b"\xff", b"*/*;q=nan", b"text/html", b"a" * 3_000),
    "Accept-Language": (b"\xff", b"en;q=zz", b"x" * 3_000),
    "Accept-Encoding": (b"\xff", b"gzip;q=-1", b"br, identity;q=0"),
    "Content-Type": (
        b"\xff",
        b"multipart/form-data",
        b"multipart/form-data; boundary=",
        b"application/json; charset=\xff",
        b"application/x-www-form-urlencoded",
        b"application/toml",
    ),
    "Content-Encoding": (b"gzip", b"\xff"),
    "Origin": (b"null", b"http://[", b"\xff", b"http://a.example"),
    "Referer": (b"http://[::1", b"\xff", b"javascript:hit()", b"//a.example/b"),
    "Host": (b"a.example", b"\xff", b"[", b"localhost:99999999", b""),
    "If-None-Match": (b"\xff", b"*", b'W/"'),
    "Range": (b"bytes=-1", b"bytes=0-99999999999999999999", b"\xff", b"bytes=" + b"0-1," * 500),
    "X-Forwarded-For": (b"\xff", b"1.2.3.4, \x01"),
}
BODIES = (
    b"",
    b"\x00",
    b"\xff\xfe",
    b"a=%ff&a=%00&name=%0d%0a",
    b"name=" + b"a" * 90_000,
    b"{",
    b"[]",
    b'{"name": null}',
    b'{"name": "a", "until": "tomorrow 25:00"}',
    b'--x\r\nContent-Disposition: form-data; name="a"\r\n\r\n',
    b"&" * 50_000,
)


@pytest.fixture(params=["open", "closed"])
def asked_yard(request: pytest.FixtureRequest, yard: WatchedYard, tmp_path: Path) -> Iterator[tuple[str, str]]:
    """Where it is served, and a secret of somebody's."""
    with closing(AccessFile(tmp_path / "access.sqlite", bytes(32))) as access:
        secret = ""
        if request.param == "closed":
            account = Account("maud", "Maud Invented", Grade.MANAGER)
            access.put(account, wall_ms())
            secret = access.take_up(access.invite("maud", wall_ms()), account, "four wet dogs ashore", wall_ms()) or ""
        deps = yard.deps(tmp_path / "cache", access=access if secret else None)
        server = PageServer(Web(host="127.0.0.1", port=0))
        server.start(create_app(deps))
        yield server.address, secret
        deps.changes.close()
        server.stop()


# Starlette leaves the files of a form that breaks off to be collected: here, and not in the next test.
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
def test_no_question_whatever_is_answered_by_a_broken_page(
    asked_yard: tuple[str, str], yard: WatchedYard, caplog: pytest.LogCaptureFixture
) -> None:
    address, secret = asked_yard
    random, known = Random(11), _known(yard)
    asks = sorted({*LEAST, *OPEN})  # every route: tests/web holds these tables against the app
    broken = []
    with httpx.Client(timeout=20) as client:
        for number in range(ASKED):
            method, path = asks[number % len(asks)]
            headers = _headers(random, secret, address)
            at = address + _filled(path, random, known)
            if random.random() < 0.5:
                at += "?" + "&".join(f"{_word(random)}={_word(random)}" for _ in range(random.randrange(1, 4)))
            content = random.choice(BODIES) if method not in {"GET", "HEAD"} else None
            try:
                with client.stream(method, at, headers=headers, content=content) as answer:
                    if answer.status_code >= 500:
                        broken.append((method, at[:200], headers, content and content[:60], answer.status_code))
            except (httpx.RemoteProtocolError, httpx.ReadError, httpx.WriteError):
                continue  # refused below HTTP
        assert client.get(f"{address}/healthz").status_code == 200
    gc.collect()
    assert broken == []
    assert not [r for r in caplog.records if r.exc_info], "an error of ours was met"


def _known(yard: WatchedYard) -> dict[str, str]:
    alert, call = yard.view.alerts(open_only=True)[0], yard.view.calls(open_only=True)[0]
    return {"vessel_id": alert.vessel, "alert_id": alert.id, "call_id": call.id}


def _filled(path: str, random: Random, known: dict[str, str]) -> str:
    def one(found: re.Match[str]) -> str:
        name = found[1].partition(":")[0]
        return known[name] if name in known and random.random() < 0.6 else quote(random.choice(WORDS), safe="") or "a"

    return re.sub(r"\{([^}]+)\}", one, path)


def _word(random: Random) -> str:
    names = (
        "limit",
        "open",
        "vessel",
        "sensor",
        "from",
        "to",
        "days",
        "by",
        "form",
        "buckets",
        "alert",
        "until",
        "name",
    )
    return quote(random.choice(WORDS if random.random() < 0.6 else names), safe="")


def _headers(random: Random, secret: str, address: str) -> list[tuple[bytes, bytes]]:
    made = {b"Host": address.removeprefix("http://").encode()}
    if secret and random.random() < 0.6:
        made |= {b"Cookie": f"coldberth={secret}".encode(), b"Origin": address.encode()}
    for name in random.sample(sorted(HEADERS), random.randrange(3)):
        if name != "Host" or random.random() < 0.2:
            made[name.encode()] = random.choice(HEADERS[name])
    return list(made.items())
