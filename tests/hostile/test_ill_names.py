"""Names, notes and topics that mean ill: no page runs them, no message is bent by them, no terminal obeys them."""

import json
import re
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import httpx
import pytest
from icalendar import Calendar
from messages.examples import HEAD, alert, finding, notice, waiting
from playwright.sync_api import Browser
from watched import WatchedYard
from yards import record

from monitor.cli import main
from monitor.messages.hook import write_hook
from monitor.messages.mail import write_mail
from monitor.messages.short import write_short
from monitor.model.notice import NoticeKind
from tests.hostile.ill_named import BOAT, ILL, ill_named, ill_named_yard

OBEYED = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e]")


@pytest.fixture
def yard(tmp_path: Path) -> Iterator[WatchedYard]:
    made = ill_named_yard(tmp_path / "journal.db")
    yield made
    made.close()


def pages(yard: WatchedYard) -> list[str]:
    alert, call = yard.alert_of(BOAT, "bilge"), yard.view.calls(open_only=False)[0]
    visit = yard.view.visits()[0]
    return [
        *("/", "/calls", "/load", "/rejects", "/round", "/undelivered", "/visits", "/sign-in", "/people", "/rows"),
        *(f"/vessels/{BOAT}", f"/vessels/{BOAT}/visit", f"/calls/{call.id}", f"/vessels/{BOAT}?alert={alert.id}"),
        f"/vessels/{BOAT}/visits/{visit.at_ms}",
    ]


def test_no_page_runs_what_somebody_is_called(yard: WatchedYard, served: str, browser: Browser) -> None:
    context = browser.new_context()
    shown = 0
    for path in pages(yard):
        page = context.new_page()
        complaints: list[str] = []
        page.on(
            "console", lambda m, c=complaints: c.append(m.text) if "Failed to load resource" not in m.text else None
        )
        page.on("pageerror", lambda e, c=complaints: c.append(str(e)))
        page.on("dialog", lambda d, c=complaints: c.append(d.message))
        page.goto(served + path)
        page.wait_for_timeout(150)
        assert complaints == [], path
        assert page.locator("img[src=x], [onerror]").count() == 0, path
        assert page.locator("script:not([src])").count() == 0, path
        shown += "onerror=hit()" in page.content()
        page.close()
    context.close()
    assert shown >= 8, "the names are on the pages, as words"


def test_no_page_and_no_header_carries_their_markup(yard: WatchedYard, client: httpx.Client) -> None:
    for path in pages(yard):
        answer = client.get(path)
        assert answer.status_code < 500
        assert "<script>hit" not in answer.text
        assert "<img src=x" not in answer.text
        assert "49" not in re.findall(r"\{\{7\*7\}\}|\b49\b", answer.text), "no template is rendered twice"
        for name, value in answer.headers.items():
            assert not OBEYED.search(name + value)


def test_every_answer_of_the_api_is_json_of_the_same_names(yard: WatchedYard, client: httpx.Client) -> None:
    del yard
    stored = client.get(f"/api/vessels/{BOAT}/record").json()
    assert stored["record"]["card"]["keys"] == ILL if "record" in stored else json.dumps(stored)
    assert client.get(f"/api/vessels/{BOAT}/record?form=toml").status_code == 200
    charts = client.get(f"/vessels/{BOAT}/charts.json")
    assert charts.headers["content-type"].startswith("application/json")
    assert charts.headers["x-content-type-options"] == "nosniff"


def test_the_calendar_has_no_line_of_theirs(yard: WatchedYard, client: httpx.Client) -> None:
    yard.passes(24 * 60)
    body = client.get("/calendar.ics").content
    Calendar.from_ical(body)
    assert body.count(b"BEGIN:VEVENT") >= 1
    unfolded = body.replace(b"\r\n ", b"")
    lines = unfolded.split(b"\r\n")
    assert all(re.match(rb"[A-Z-]+[;:]", line) for line in lines if line)
    assert not [line for line in lines if line.startswith((b"Bcc", b"X:1"))]
    assert max(map(len, body.split(b"\r\n"))) <= 75
    assert b"\n" not in body.replace(b"\r\n", b"")
    assert not re.search(rb"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]", body)


@pytest.mark.parametrize("kind", NoticeKind)
def test_no_message_is_bent_by_a_name(kind: NoticeKind) -> None:
    vessel = ill_named(record("tern", "Tern", "B1"))
    state = {"has_it": ILL, "acknowledged_by": ILL, "offered_to": ILL, "aside_by": ILL, "aside_why": ILL}
    stood = alert(finding=finding(facts=finding().facts | {"name": ILL}), **state)
    due = waiting(notice(kind, person=ILL, reason=ILL), (stood, vessel))
    mail = write_mail(due, HEAD, datetime(2014, 1, 10, tzinfo=UTC))
    raw = mail.as_bytes()
    head, _, _ = raw.partition(b"\r\n\r\n")
    assert b"\nBcc" not in head
    assert b"\nX:1" not in head
    assert mail["Bcc"] is None
    for text in (*write_short(due, HEAD), *_texts(write_hook(due, HEAD))):
        assert not OBEYED.search(text.replace("\n", "")), text


def _texts(tree: object) -> Iterator[str]:
    if isinstance(tree, str):
        yield tree
    elif isinstance(tree, dict):
        for value in tree.values():
            yield from _texts(value)
    elif isinstance(tree, list):
        for value in tree:
            yield from _texts(value)


@pytest.mark.parametrize(
    "command", [("vessel", "list"), ("vessel", "export", BOAT), ("alert", "list"), ("alert", "show"), ("check",)]
)
def test_no_terminal_obeys_a_name(
    yard: WatchedYard, tmp_path: Path, capsys: pytest.CaptureFixture[str], command: tuple[str, ...]
) -> None:
    settings = tmp_path / "settings.toml"
    settings.write_text(f'[yard]\nid = "eiderhythe"\nname = "Eiderhythe"\n[journal]\npath = "{yard.path}"\n')
    asked = [*command, yard.alert_of(BOAT, "bilge").id] if command == ("alert", "show") else [*command]
    main([*asked, "--settings", str(settings)])
    said = capsys.readouterr()
    assert said.out
    assert not OBEYED.search(said.out + said.err)
    if command != ("check",):
        assert "hit()" in said.out


def test_a_refusal_on_a_terminal_shows_what_it_was_asked_and_does_not_obey_it(
    yard: WatchedYard, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    settings = tmp_path / "settings.toml"
    settings.write_text(f'[yard]\nid = "eiderhythe"\nname = "Eiderhythe"\n[journal]\npath = "{yard.path}"\n')
    assert main(["vessel", "export", "\x1b[2J", "--settings", str(settings)]) != 0
    wrong = tmp_path / "\x1b]0;owned\x07.toml"
    wrong.write_text('id = "\\u001b[2J"\n')
    assert main(["vessel", "import", str(wrong), "--settings", str(settings)]) != 0
    assert not OBEYED.search(capsys.readouterr().err)
