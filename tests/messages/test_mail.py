"""An alert as an e-mail: what it says, how it threads, and what cannot be smuggled into it."""

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
from examples import HEAD, NOW, TERN, alert, finding, notice
from hypothesis import assume, given
from hypothesis import strategies as st

from monitor.messages.mail import write_mail
from monitor.messages.plain import one_line
from monitor.model.alert import Alert, AlertChange
from monitor.model.notice import Notice
from monitor.model.scale import Priority
from monitor.model.vessel import Person, Vessel

DATE = datetime(2014, 1, 10, 18, 5, tzinfo=UTC)
NASTY = 'Tern\r\nBcc: all@example.org\r\n\r\n<script>alert("x")</script>\u202e\x00 {{ 7 * 7 }} & Söhne'


def mail(told: Notice | None = None, about: Alert | None = None, vessel: Vessel = TERN) -> EmailMessage:
    """Write a mail and read it again, as a reader's program does."""
    message = write_mail(told or notice(), about or alert(), vessel, HEAD, DATE)
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


def test_the_message_says_everything_in_text_and_in_html() -> None:
    message = mail()
    page = " ".join(Tags(text_of(message, "html")).text)
    for body in (text_of(message), page):
        for needed in (
            "A new alert.",
            "Closed cooling is below its freezing point",
            "This is likely, not certain.",
            "Perhaps 6 to 14 hours until harm if nobody acts.",
            "Test the coolant again with a refractometer for that glycol.",
            "Do not start the engine while there may be slush in it.",
            "The coolant is weaker than the night is cold.",
            "Engine space, 12:50",
            "This is advice only.",
            "Fri 10 Jan 2014, 13:00",
            "nobody has said so yet",
            "You get this because: a new alert opened, and you are her owner.",
        ):
            assert needed in body, needed
    assert "http://127.0.0.1:8080/vessels/tern" in text_of(message)
    assert "http://127.0.0.1:8080/vessels/tern" in Tags(text_of(message, "html")).attributes["href"]
    assert "TERN, PLOT B4" in text_of(message)


def test_headers_are_those_of_an_automatic_message_to_one_person() -> None:
    message = mail()
    assert message["To"].addresses[0].addr_spec == "anna@example.org"
    assert message["To"].addresses[0].display_name == "Anna"
    assert message["From"].addresses[0].addr_spec == "watch@yard.example"
    assert message["Auto-Submitted"] == "auto-generated"
    assert message["Importance"] == "high"
    assert message["Date"].datetime == DATE


def test_the_message_id_is_the_notices_own_and_does_not_change_between_tries() -> None:
    assert (
        mail()["Message-ID"] == f"<{notice().id}@yard.example>" == mail(about=alert(acknowledged_ms=NOW))["Message-ID"]
    )


def test_later_messages_of_an_alert_thread_under_its_opening() -> None:
    opening = mail()
    assert opening["In-Reply-To"] is None
    later = mail(notice(AlertChange.PRIORITY, seq=99))
    assert later["Message-ID"] != opening["Message-ID"]
    assert later["In-Reply-To"] == later["References"] == opening["Message-ID"]


@pytest.mark.parametrize(
    ("change", "state", "mark", "says"),
    [
        (AlertChange.OPENED, {}, "Act now", "A new alert."),
        (AlertChange.PRIORITY, {}, "Act now", "This has changed. It is now: act now."),
        (AlertChange.REOPENED, {}, "Act now", "It had cleared, and is back."),
        (AlertChange.RETURNED, {"returned_ms": NOW + HOUR}, "Cleared", "It has cleared. Nobody has said they saw it."),
        (AlertChange.ENDED, {"ended_ms": NOW + HOUR}, "Ended", "It has cleared, and the alert has ended."),
    ],
)
def test_every_change_that_is_mailed_says_what_happened(
    change: AlertChange, state: dict[str, Any], mark: str, says: str
) -> None:
    message = mail(notice(change), alert(**state))
    assert message["Subject"].startswith(f"[{mark}] Tern, plot B4")
    assert says in text_of(message)


@pytest.mark.parametrize("change", [AlertChange.OPENED, AlertChange.PRIORITY, AlertChange.RETURNED])
def test_a_late_message_about_an_alert_that_has_ended_does_not_call_anybody_out(change: AlertChange) -> None:
    message = mail(notice(change), alert(returned_ms=NOW + HOUR, ended_ms=NOW + 2 * HOUR))
    assert message["Subject"].startswith("[Ended]")
    assert message["Importance"] is None
    text = text_of(message)
    assert "Fri 10 Jan 2014, 15:00" in text
    assert "Test the coolant" not in text
    assert "obody has said" not in text


def test_a_cleared_alert_still_says_what_was_asked_for_and_what_not_to_do() -> None:
    text = text_of(mail(notice(AlertChange.RETURNED), alert(returned_ms=NOW + HOUR)))
    assert "WHAT WAS ASKED FOR BEFORE IT CLEARED" in text
    assert "Do not start the engine" in text
    assert "Cleared is not repaired" in text
    assert "Before it cleared, this was said:" in text
    assert "How long" not in text


def test_who_has_seen_it_is_named() -> None:
    text = text_of(mail(about=alert(acknowledged_ms=NOW + HOUR, acknowledged_by="Per")))
    assert "Seen by: Per, Fri 10 Jan 2014, 14:00" in text


@pytest.mark.parametrize("change", list(AlertChange))
def test_no_name_carries_a_header_or_markup(change: AlertChange) -> None:
    vessel = boat(name=NASTY[:80], plot=NASTY[:40])
    facts = finding().facts | {"name": NASTY}
    about = alert(finding=finding(facts=facts), acknowledged_by=NASTY, acknowledged_ms=NOW)
    clean = mail(notice(change))
    message = mail(notice(change, person=NASTY, reason=NASTY), about, vessel)
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
        mail(notice(address=address))


def test_every_line_is_short_enough_for_any_server() -> None:
    long = boat(name="N" * 80, plot="P" * 40, owner=Person(name="O" * 80, email="o@example.org"))
    raw = write_mail(notice(), alert(), long, HEAD, DATE).as_bytes()
    assert max(len(line) for line in raw.split(b"\r\n")) <= 998  # RFC 5322, 2.1.1
    assert raw.isascii()


def test_a_warning_is_not_marked_as_important_as_an_alarm() -> None:
    message = mail(about=alert(priority=Priority.WARNING))
    assert message["Subject"].startswith("[Soon]")
    assert message["Importance"] is None


def test_no_message_says_safe() -> None:
    for change in AlertChange:
        message = mail(notice(change))
        assert not re.search(r"\bsafe", text_of(message) + text_of(message, "html"), re.IGNORECASE)


@given(st.text(st.sampled_from('abc  é\u2212Ω船,;"(<=?_.'), min_size=1, max_size=80), st.integers(0, 60))
def test_subject_and_names_come_back_as_they_were_written(name: str, more: int) -> None:
    typed = one_line(name)
    assume(typed)
    facts = finding().facts | {"name": "Cooling " + "of her " * (more // 7) + "x" * (more % 7)}
    written = write_mail(notice(person=typed), alert(finding=finding(facts=facts)), boat(name=typed), HEAD, DATE)
    # Read with the older parser: the newer one puts a space between two encoded words of a name (RFC 2047, 6.2).
    message = message_from_bytes(written.as_bytes(), policy=compat32)
    wanted = f"[Act now] {typed}, plot B4: {facts['name']} is below its freezing point"
    assert decoded(message["Subject"]) == one_line(wanted, 160)
    display, address = parseaddr(message["To"])
    assert decoded(display) == typed
    assert address == "anna@example.org"


def decoded(value: str) -> str:
    return str(make_header(decode_header("".join(value.splitlines()))))
