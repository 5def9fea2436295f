"""One webhook: where it may go, how it is signed, and how a receiver's answers are sorted."""

import base64
import time
from datetime import UTC, datetime
from ipaddress import IPv4Address, ip_address
from pathlib import Path
from typing import Any

import pytest
from fixtures_broker import free_port
from pydantic import SecretStr, ValidationError
from receivers import Receiver
from servers import server_context
from standardwebhooks.webhooks import Webhook

from monitor.notify.connection import GoneError, NotNowError, RefusedError, UnreachableError
from monitor.notify.post import Answer
from monitor.notify.public_address import why_not_public
from monitor.notify.signature import signed_headers
from monitor.notify.wall import wall_ms
from monitor.notify.webhook import WebhookConfig, WebhookConnection, WebhookMessage, judge

ANY = str(IPv4Address(0))
SECRET = "whsec_" + base64.b64encode(bytes(range(24))).decode()


def post(url: str, resolver: Any = None, **options: Any) -> None:
    config = WebhookConfig(secret=SecretStr(SECRET), **options)
    connection = WebhookConnection(config) if resolver is None else WebhookConnection(config, resolver)
    try:
        connection.send(WebhookMessage("m1", url, wall_ms(), b'{"a":"\xc3\xa5"}'))
    finally:
        connection.close()


def test_the_signature_is_the_one_an_independent_library_makes() -> None:
    at_s = 1_700_000_000
    headers = signed_headers(SecretStr(SECRET), "m1", at_s, b'{"a":1}')
    theirs = Webhook(SECRET).sign("m1", datetime.fromtimestamp(at_s, UTC), '{"a":1}')
    assert headers == {"webhook-id": "m1", "webhook-timestamp": str(at_s), "webhook-signature": theirs}


@pytest.mark.parametrize(
    "text",
    [
        *("127.0.0.1", "127.8.8.8", ANY, "10.1.2.3", "172.16.0.1", "192.168.1.1", "169.254.169.254"),
        *("100.64.0.1", "224.0.0.1", "240.0.0.1", "255.255.255.255", "192.0.2.1", "198.18.0.1"),
        *("::", "::1", "fe80::1", "fe80::1%eth0", "fc00::1", "ff02::1", "2001:db8::1", "::127.0.0.1"),
        *(
            "::ffff:127.0.0.1",
            "::ffff:10.0.0.1",
            "::ffff:0.0.0.0",
            "64:ff9b::7f00:1",
            "2002:7f00:1::",
            "64:ff9b::a00:1",
        ),
    ],
)
def test_addresses_that_are_not_of_the_public_internet_are_told_apart(text: str) -> None:
    assert why_not_public(ip_address(text)) != ""


@pytest.mark.parametrize("text", ["8.8.8.8", "2606:4700::1111", "::ffff:8.8.8.8", "64:ff9b::808:808"])
def test_public_addresses_are_let_through(text: str) -> None:
    assert why_not_public(ip_address(text)) == ""


@pytest.mark.parametrize("host", ["127.0.0.1", ANY, "[::ffff:127.0.0.1]", "localhost", "2130706433", "127.1"])
def test_a_private_address_is_refused_however_it_is_written(host: str) -> None:
    with pytest.raises(UnreachableError, match="allow_private = true in the settings allows it"):
        post(f"https://{host}:{free_port()}/hook")


def test_a_name_with_one_private_address_among_public_ones_is_refused() -> None:
    with pytest.raises(UnreachableError, match=r"it leads to 127\.0\.0\.1, which is loopback"):
        post("https://hooks.example/hook", lambda _host, _port: ["93.184.216.34", "127.0.0.1"])


def test_a_name_is_looked_up_once_and_connected_to_at_the_address_that_was_checked() -> None:
    receiver = Receiver(free_port()).start()
    asked: list[str] = []

    def rebinding(host: str, _port: int) -> list[str]:
        asked.append(host)
        return ["127.0.0.1"] if len(asked) == 1 else ["192.0.2.1"]

    post(f"http://hooks.example:{receiver.port}/hook", rebinding, allow_private=True)
    receiver.stop()
    assert asked == ["hooks.example"]
    assert receiver.got[0].headers["host"] == f"hooks.example:{receiver.port}"


def test_the_next_address_of_a_name_is_tried_where_nobody_listens_at_the_first() -> None:
    receiver = Receiver(free_port()).start()
    post(f"http://hooks.example:{receiver.port}/", lambda _h, _p: ["127.0.0.9", "127.0.0.1"], allow_private=True)
    receiver.stop()
    assert len(receiver.got) == 1


def test_tls_checks_the_name_and_not_the_address(certificate: tuple[Path, Path]) -> None:
    receiver = Receiver(free_port(), server_context(*certificate)).start()
    options = {"allow_private": True, "ca_file": certificate[0], "resolver": lambda _host, _port: ["127.0.0.1"]}
    post(f"https://localhost:{receiver.port}/", **options)
    with pytest.raises(UnreachableError, match="certificate verify failed"):
        post(f"https://hooks.example:{receiver.port}/", **options)
    with pytest.raises(UnreachableError, match="certificate verify failed"):
        post(f"https://localhost:{receiver.port}/", **options | {"ca_file": None})
    receiver.stop()
    assert len(receiver.got) == 1


@pytest.mark.parametrize("url", ["http://hooks.example/", "ftp://hooks.example/", "hooks.example", "https:///x", "x y"])
def test_an_address_that_is_no_https_url_is_refused_for_ever_and_not_repeated(url: str) -> None:
    with pytest.raises(RefusedError, match="address") as refused:
        post(url)
    assert url not in str(refused.value)


def test_a_redirect_is_not_followed() -> None:
    receiver = Receiver(free_port()).start()
    receiver.answers["/hook"] = [(307, {"Location": receiver.url("/elsewhere")})]
    with pytest.raises(UnreachableError, match="307, which leads elsewhere and is not followed"):
        post(receiver.url(), allow_private=True)
    receiver.stop()
    assert [got.path for got in receiver.got] == ["/hook"]


def test_a_receiver_that_never_answers_is_left_after_the_time_allowed() -> None:
    receiver = Receiver(free_port()).start()
    receiver.hang.set()
    began = time.monotonic()
    with pytest.raises(UnreachableError, match="timed out"):
        post(receiver.url(), allow_private=True, timeout_s=0.3)
    assert time.monotonic() - began < 1.0
    receiver.stop()


@pytest.mark.parametrize(
    ("status", "kind"),
    [
        (410, GoneError),
        *((status, RefusedError) for status in (400, 405, 413, 415, 422)),
        *((status, NotNowError) for status in (408, 409, 425, 500, 501, 502, 504)),
        *((status, UnreachableError) for status in (301, 302, 308, 401, 403, 404, 429, 503)),
    ],
)
def test_answers_are_sorted(status: int, kind: type[Exception]) -> None:
    with pytest.raises(kind, match=str(status)) as sorted_as:
        judge(Answer(status, None), 0)
    assert type(sorted_as.value) is kind


@pytest.mark.parametrize("status", [200, 201, 202, 204, 299])
def test_every_two_hundred_is_taken(status: int) -> None:
    judge(Answer(status, None), 0)


@pytest.mark.parametrize("secret", ["", "hunter2hunter2", "whsec_", "whsec_%%%", "whsec_c2hvcnQ=", SECRET[6:]])
def test_a_secret_that_is_none_is_refused_with_how_to_make_one_and_not_repeated(secret: str) -> None:
    with pytest.raises(ValidationError, match="openssl rand -base64 32") as refused:
        WebhookConfig(secret=SecretStr(secret))
    assert not secret or secret not in str(refused.value).replace("whsec_$", "").replace("'whsec_'", "")
