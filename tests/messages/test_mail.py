"""A notice as an e-mail: its headers, how it threads, its picture, and what cannot be smuggled into it."""

import re
from datetime import UTC, datetime
from email import message_from_bytes
from email.header import decode_header, make_header
from email.message import EmailMessage
from email.policy import compat32, default
from email.utils import parseaddr
from html.parser import HTMLParser
from typing import Any

import pytest
from boats import HOUR, boat
from examples import CARD, HEAD, NOW, PNG, TERN, alert, finding, fleet, notice, waiting
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from monitor.messages.mail import write_mail
from monitor.messages.plain import one_line
from monitor.model.notice import NoticeKind
from monitor.model.outbox import Waiting
from monitor.model.scale import AlertState, Priority
from monitor.model.vessel import Person

DATE = datetime(2014, 1, 10, 18, 5, tzinfo=UTC)
NASTY = 'Tern\r\nBcc: all@example.org\r\n\r\n<script>alert("x")</script>\u202e\x00 {{ 7 * 7 }} & Söhne'


def mail(due: Waiting | None = None) -> EmailMessage:
    """Write a mail and read it again, as a reader's program does."""
    message = write_mail(due or waiting(), HEAD, DATE)
    read = message_from_bytes(message.as_bytes(), policy=default)
    assert isinstance(read, EmailMessage)
    return read


def text_of(message: EmailMessage, kind: str = "plain") -> str:
    part = message.get_body((kind,))
    assert isinstance(part, EmailMessage)
    content: str = part.get_content()
    return content


class Tags(HTMLParser):
    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.text: list[str] = []
        self.attributes: dict[str, list[str]] = {}
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        for name, value in attrs:
            self.attributes.setdefault(name, []).append(value or "")

    def handle_data(self, data: str) -> None:
        self.text.append(data)


def test_the_subject_says_how_soon_which_boat_where_and_what() -> None:
    assert mail()["Subject"] == "[Act now] Tern, plot B4: Closed cooling is below its freezing point"


def test_headers_are_those_of_an_automatic_message_to_one_person() -> None:
    message = mail()
    assert message["To"].addresses[0].addr_spec == "anna@example.org"
    assert message["To"].addresses[0].display_name == "Anna"
    assert message["From"].addresses[0].addr_spec == "watch@yard.example"
    assert message["Auto-Submitted"] == "auto-generated"
    assert message["Importance"] == "high"
    assert message["Date"].datetime == DATE


def test_the_message_id_is_the_notices_own_and_does_not_change_between_tries() -> None:
    later = waiting(notice(), (alert(acknowledged_ms=NOW, acknowledged_by="Per"), TERN))
    assert mail()["Message-ID"] == f"<{notice().id}@yard.example>" == mail(later)["Message-ID"]


def test_later_messages_of_a_call_thread_under_the_first_to_this_address() -> None:
    opening = mail()
    assert opening["In-Reply-To"] is None
    later = mail(waiting(notice(NoticeKind.WORSE, number=1)))
    assert later["Message-ID"] != opening["Message-ID"]
    assert later["In-Reply-To"] == later["References"] == opening["Message-ID"]


@pytest.mark.parametrize(
    "state",
    [
        {"priority": Priority.WARNING},
        {"returned_ms": NOW + HOUR},
        {"finding": finding(over=True)},
        {"returned_ms": NOW + HOUR, "ended_ms": NOW + HOUR},
        {"state": AlertState.SHELVED, "aside_by": "Per"},
    ],
)
def test_only_an_alarm_that_stands_is_marked_as_important(state: dict[str, Any]) -> None:
    assert mail(waiting(notice(), (alert(**state), TERN)))["Importance"] is None


def test_the_picture_lies_inside_the_page_and_says_what_it_shows() -> None:
    message = mail()
    (image,) = (part for part in message.walk() if part.get_content_type() == "image/png")
    cid = image["Content-ID"].strip("<>")
    page = Tags(text_of(message, "html"))
    assert page.attributes["src"] == [f"cid:{cid}"]
    assert page.attributes["alt"] == ["Temperatures"]
    assert "Temperatures. Engine space: cold." in page.text
    assert image.get_content() == PNG
    assert image.get_content_disposition() == "inline"
    assert "Temperatures. Engine space: cold." in text_of(message)
    assert not [s for s in page.attributes["src"] if s.startswith("http")]


@pytest.mark.parametrize("owner", [False, True])
@pytest.mark.parametrize("kind", list(NoticeKind))
def test_no_name_carries_a_header_or_markup(kind: NoticeKind, owner: bool) -> None:
    def due(typed: str | None) -> Waiting:
        name = typed or "Tern"
        card = {key: typed or text for key, text in CARD.items()}
        vessel = boat(name=name[:80], plot=name[:40], card=card)
        facts = finding().facts | {"name": name}
        state = {"has_it": name, "acknowledged_by": name, "acknowledged_ms": NOW, "offered_to": f"{name} 2"}
        stood = alert(finding=finding(facts=facts), **state)
        put_aside = {"aside_by": name, "aside_why": name, "aside_until_ms": NOW + HOUR, "state": AlertState.SHELVED}
        aside = alert(finding=finding(facts=facts), **put_aside)
        told = notice(kind, person=name, reason=name, owner=owner)
        return waiting(told, (stood, vessel), (aside, vessel))

    clean, message = mail(due(None)), mail(due(NASTY))
    assert message.keys() == clean.keys()
    assert message["Bcc"] is None
    for value in map(str, message.values()):
        assert not re.search(r"[\x00-\x1f\u202e]", value)
    plain, page = Tags(text_of(clean, "html")), Tags(text_of(message, "html"))
    assert set(page.tags) == set(plain.tags)
    assert "script" not in page.tags
    assert not {name for name in page.attributes if name.startswith("on")}
    assert "\u202e" not in text_of(message)
    assert "\x00" not in text_of(message)
    assert not re.search(r"^Bcc:", text_of(message), re.MULTILINE)
    assert "{{ 7 * 7 }}" in text_of(message)


@pytest.mark.parametrize(
    "address", ["anna@", "a b@example.org", "anna@example.org\r\nBcc: x@example.org", "a,b@c.d", ""]
)
def test_an_address_that_is_none_is_refused_with_a_reason(address: str) -> None:
    with pytest.raises(ValueError, match="is no e-mail address"):
        mail(waiting(notice(address=address)))


@pytest.mark.parametrize("kind", list(NoticeKind))
def test_every_line_is_short_enough_for_any_server(kind: NoticeKind) -> None:
    card = dict.fromkeys(CARD, "C" * 500)
    long = boat(name="N" * 80, plot="P" * 40, owner=Person(name="O" * 80, email="o@example.org"), card=card)
    for due in (waiting(notice(kind), (alert(), long)), fleet(60, told=notice(kind, vessel=None))):
        raw = write_mail(due, HEAD, DATE).as_bytes()
        assert max(len(line) for line in raw.split(b"\r\n")) <= 998  # RFC 5322, 2.1.1
        assert raw.isascii()


@settings(deadline=None)  # the machine may be busy
@given(st.text(st.sampled_from('abc  é\u2212Ω船,;"(<=?_.'), min_size=1, max_size=80), st.integers(0, 60))
def test_subject_and_names_come_back_as_they_were_written(name: str, more: int) -> None:
    typed = one_line(name)
    assume(typed)
    facts = finding().facts | {"name": "Cooling " + "of her " * (more // 7) + "x" * (more % 7)}
    due = waiting(notice(person=typed), (alert(finding=finding(facts=facts)), boat(name=typed)))
    written = write_mail(due, HEAD, DATE)
    # Read with the older parser: the newer one puts a space between two encoded words of a name (RFC 2047, 6.2).
    message = message_from_bytes(written.as_bytes(), policy=compat32)
    wanted = f"[Act now] {typed}, plot B4: {facts['name']} is below its freezing point"
    assert decoded(message["Subject"]) == one_line(wanted, 160)
    display, address = parseaddr(message["To"])
    assert decoded(display) == typed
    assert address == "anna@example.org"


def decoded(value: str) -> str:
    return str(make_header(decode_header("".join(value.splitlines()))))
