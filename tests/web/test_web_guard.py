"""What every answer carries, and what is refused whatever it asks for."""

from collections.abc import Callable

import httpx
import pytest
from yards import Yard

from monitor.web import Deps
from monitor.web.guard import HEADERS


@pytest.mark.parametrize("path", ["/", "/vessels/amber-lark", "/nowhere", "/api/vessels", "/metrics", "/healthz"])
def test_every_answer_carries_the_security_headers(client: httpx.Client, path: str) -> None:
    found = client.get(path).headers
    assert {name: found[name] for name in HEADERS} == HEADERS


def test_no_page_allows_inline_script_or_style_or_any_other_site(client: httpx.Client) -> None:
    policy = client.get("/").headers["content-security-policy"]
    assert "unsafe" not in policy
    assert "http" not in policy


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://elsewhere.example"},
        {"Origin": "null"},
        {"Origin": "http://localhost:9999"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
    ],
)
def test_a_change_sent_by_another_sites_page_is_refused(
    yard: Yard, client: httpx.Client, headers: dict[str, str]
) -> None:
    alert = next(iter(yard.alerts))
    for path, body in (
        (f"/alerts/{alert}/acknowledge", {"data": {"name": "x"}}),
        (f"/api/alerts/{alert}/acknowledge", {"json": {"name": "x"}}),
    ):
        refused = client.post(path, headers=headers, **body)
        assert (refused.status_code, "Press it on the yard's own page" in refused.text) == (403, True)
    assert client.put("/api/vessels/amber-lark/record", headers=headers, json={}).status_code == 403
    assert yard.commands == []


def test_a_change_from_our_own_page_and_from_a_command_line_passes(yard: Yard, client: httpx.Client) -> None:
    own = {"Origin": str(client.base_url).rstrip("/"), "Sec-Fetch-Site": "same-origin"}
    first, second = (a for a in yard.alerts.values() if a.vessel == "amber-lark")
    assert client.post(f"/alerts/{first.id}/acknowledge", data={"name": "x"}, headers=own).status_code == 200
    assert client.post(f"/alerts/{second.id}/acknowledge", data={"name": "x"}).status_code == 200


@pytest.mark.parametrize("host", ["evil.example", "evil.example:80", "localhost.evil.example", ""])
def test_a_name_that_is_not_ours_is_refused(client: httpx.Client, host: str) -> None:
    answer = client.get("/", headers={"Host": host})
    assert answer.status_code == 403
    assert "not called" in answer.text


@pytest.mark.parametrize("host", ["localhost", "localhost:8000", "127.0.0.1:1", "[::1]:8000", "[::1]", "LOCALHOST"])
def test_loopback_names_are_ours(client: httpx.Client, host: str) -> None:
    assert client.get("/", headers={"Host": host}).status_code == 200


def test_a_program_error_is_a_plain_page_with_the_headers(
    deps: Deps, ask: Callable[[Deps], httpx.Client], monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(deps.yard, "vessels_now", lambda *_: 1 / 0)
    client = ask(deps)
    for path, kind in (("/", "text/html"), ("/api/vessels", "application/problem+json")):
        answer = client.get(path)
        assert answer.status_code == 500
        assert answer.headers["content-type"].startswith(kind)
        assert answer.headers["x-frame-options"] == "DENY"
        assert "ZeroDivision" not in answer.text
    assert "GET / could not be answered" in caplog.text


def test_static_files_are_kept_for_good_by_their_version(client: httpx.Client) -> None:
    page = client.get("/").text
    sheet = next(part.split('"')[0] for part in page.split('href="') if ".css" in part)
    assert "immutable" in client.get(sheet).headers["cache-control"]
    assert client.get("/static/old/coldberth.css").headers["cache-control"] == "no-cache"
