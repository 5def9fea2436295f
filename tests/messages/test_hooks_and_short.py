"""Webhooks' JSON and the few lines for phone services."""

import json
from datetime import datetime
from typing import Any

import pytest
from boats import boat
from examples import CARD, HEAD, NOW, RETEST, alert, fleet, notice, waiting

from monitor.messages.hook import MOST_ALERTS, write_hook
from monitor.messages.short import LONGEST_BODY, LONGEST_TITLE, write_short
from monitor.model.finding import Finding
from monitor.model.notice import NoticeKind
from monitor.model.outbox import Waiting

TERN = boat(card=CARD)


def of(kind: NoticeKind = NoticeKind.NEW, *, owner: bool = False) -> Waiting:
    return waiting(notice(kind, owner=owner), (alert(), TERN))


@pytest.mark.parametrize("kind", [k for k in NoticeKind if k is not NoticeKind.TEST])
def test_a_hook_is_plain_json_with_type_time_and_data(kind: NoticeKind) -> None:
    body = json.loads(json.dumps(write_hook(of(kind), HEAD, strict=True)))
    assert body["type"] == ("digest" if kind is NoticeKind.DIGEST else f"call.{kind.value}")
    assert datetime.fromisoformat(body["timestamp"]).timestamp() * 1000 == NOW
    (told,) = body["data"]["alerts"]
    assert told["rule"] == "frost"
    assert told["state"] == "unacknowledged"
    assert told["first"][0] == RETEST
    assert body["data"]["priority"] == "alarm"


@pytest.mark.parametrize("owner", [False, True])
def test_a_hook_holds_no_card_and_no_link_to_acknowledge(owner: bool) -> None:
    body = json.dumps(write_hook(of(owner=owner), HEAD))
    for kept_back in ("hook 9", "Under the steps", "No shoes", "/seen/"):
        assert kept_back not in body
    assert ("refractometer" in body) == (not owner)


def test_a_hook_of_very_many_alerts_says_how_many_are_left_out() -> None:
    data = write_hook(fleet(MOST_ALERTS + 7), HEAD)["data"]
    assert len(data["alerts"]) == MOST_ALERTS
    assert (data["more"], data["vessels"], data["cause"]) == (7, MOST_ALERTS + 7, "frost")


@pytest.mark.parametrize("kind", [k for k in NoticeKind if k is not NoticeKind.TEST])
@pytest.mark.parametrize("many", [1, 60])
def test_short_messages_are_short_and_their_links_are_whole(kind: NoticeKind, many: int) -> None:
    long = boat(name="N" * 80, plot="P" * 40, card=CARD)
    finding: Finding = alert().finding
    facts: dict[str, Any] = finding.facts | {"name": "Cooling " * 40}
    due = fleet(many, told=notice(kind, vessel=None)) if many > 1 else waiting(notice(kind), (alert(), long))
    title, body = write_short(due, HEAD, strict=True)
    wordy = waiting(notice(kind), (alert(finding=Finding(**_fields(finding) | {"facts": facts})), long))
    for said_title, said in ((title, body), write_short(wordy, HEAD, strict=True)):
        assert len(said_title) <= LONGEST_TITLE
        assert len(said) <= LONGEST_BODY
        assert said.splitlines()[-1].startswith("http://127.0.0.1:8080/")


def test_the_most_important_comes_first_in_a_short_message() -> None:
    title, body = write_short(of(), HEAD)
    assert title == "[Act now] Tern, plot B4: Closed cooling is below its freezing point"
    lines = body.splitlines()
    assert lines[1] == "Perhaps 6 to 14 hours until harm if nobody acts."
    assert lines[2] == "Nobody has it yet."
    assert lines[3].startswith("I have it: http://127.0.0.1:8080/seen/")
    assert lines[4].startswith(f"First: {RETEST}")
    assert lines[5].startswith("Then: If it is weak")


def test_a_short_message_to_an_owner_asks_them_to_do_nothing_aboard() -> None:
    _, body = write_short(of(owner=True), HEAD)
    assert "Please do not board." in body
    assert "First:" not in body
    assert "It is \u2212" not in body
    assert "/seen/" not in body


def _fields(finding: Finding) -> dict[str, Any]:
    return {name: getattr(finding, name) for name in finding.__dataclass_fields__}
