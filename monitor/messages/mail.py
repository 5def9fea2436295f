"""A change of an alert as an e-mail that reads well on a phone in the dark.

Every text in it is one plain line (`monitor.messages.plain`) before it reaches a header, and escaped before it reaches
HTML, so that a boat's name can carry neither a header nor markup. What a late message says is what is known when it
is written: an alert that has ended meanwhile is not announced as *act now*.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from email.headerregistry import Address
from email.message import EmailMessage
from email.utils import format_datetime
from functools import cache
from importlib import resources
from typing import Any
from zoneinfo import ZoneInfo

from jinja2 import StrictUndefined, Template
from jinja2.sandbox import ImmutableSandboxedEnvironment

from monitor.messages.cautions import cautions
from monitor.messages.headers import MAIL
from monitor.messages.phrases import FALLBACK_LANGUAGE, Common, common
from monitor.messages.plain import one_line
from monitor.messages.words import change_mark, change_sentence, newest_ms, put_into_words
from monitor.model.alert import Alert, AlertChange
from monitor.model.notice import Notice
from monitor.model.outbox import notice_id
from monitor.model.scale import Priority
from monitor.model.vessel import Vessel

_LONGEST_SUBJECT = 160
_OVER = {AlertChange.RETURNED, AlertChange.ENDED}


@dataclass(frozen=True, slots=True)
class Letterhead:
    """What all messages of a yard share.

    Attributes:
        sender: address they come from.
        name: the yard's name beside it.
        page: gives the address of a vessel's page from her id.
        zone: the yard's time zone.
        language: language they are written in.
    """

    sender: str
    name: str
    page: Callable[[str], str]
    zone: ZoneInfo
    language: str = FALLBACK_LANGUAGE


def write_mail(notice: Notice, alert: Alert, vessel: Vessel, head: Letterhead, date: datetime) -> EmailMessage:
    """Write the e-mail of a notice.

    Args:
        notice: what is to be told to whom.
        alert: the alert in its latest form.
        vessel: the vessel's record.
        head: what all messages of the yard share.
        date: when it is written (aware).

    Raises:
        ValueError: where the address cannot stand in a message.
    """
    parts = _parts(notice, alert, vessel, head)
    message = EmailMessage(policy=MAIL)
    message["Subject"] = one_line(parts["subject"], _LONGEST_SUBJECT)
    message["From"] = _address(head.name, head.sender)
    message["To"] = _address(notice.person, notice.address)
    message["Date"] = format_datetime(date)
    message["Message-ID"] = _message_id(notice.id, head.sender)
    opening = notice_id(alert.id, AlertChange.OPENED, 0, 0, notice.address)
    if notice.id != opening:
        message["In-Reply-To"] = message["References"] = _message_id(opening, head.sender)
    message["Auto-Submitted"] = "auto-generated"
    if alert.priority is Priority.ALARM and not parts["over"]:
        message["Importance"] = "high"
    message.set_content(_template("mail.txt").render(parts), cte="quoted-printable")
    message.add_alternative(_template("mail.html").render(parts), subtype="html", cte="quoted-printable")
    return message


def _parts(notice: Notice, alert: Alert, vessel: Vessel, head: Letterhead) -> dict[str, Any]:
    words, change = common(head.language), AlertChange(notice.change)
    told = _told(alert, change)
    over = told in _OVER
    now_ms = max(notice.at_ms, newest_ms(alert))
    finding = put_into_words(alert.finding, vessel, head.zone, now_ms, head.language)
    say = {key: shown.render() for key, shown in words.sections["mail"].items() if key not in _FILLED}
    named = {"vessel": one_line(vessel.name), "place": one_line(vessel.place), "title": finding.title}
    mark = change_mark(told, alert.priority, head.language)
    ended = alert.ended_ms is not None
    return {
        "language": head.language,
        "subject": words.template("mail", "subject_over" if over else "subject").render(named, mark=mark),
        "heading": words.template("mail", "heading").render(named),
        "mark": mark,
        "happened": _happened(alert, change, told, head, words),
        "over": over,
        "say": say,
        "words": finding,
        "first": () if ended else finding.first,
        "never": () if ended else finding.never,
        "causes": () if ended else finding.causes,
        "times": _times(alert, say, head, words),
        "page": head.page(vessel.id),
        "cautions": cautions(alert.rule, head.language),
        "as_of": words.template("mail", "as_of").render(at=words.figures.date_clock(now_ms, head.zone)),
        "why": words.template("mail", "why").render(reason=one_line(notice.reason)),
    }


_FILLED = {"subject", "subject_over", "heading", "as_of", "why"}


def _told(alert: Alert, change: AlertChange) -> AlertChange:
    """Give what to tell: the change of the notice, or the end that has overtaken it."""
    if alert.ended_ms is not None:
        return AlertChange.ENDED
    if alert.returned_ms is not None:
        return AlertChange.RETURNED
    return AlertChange.REOPENED if change is AlertChange.RETURNED else change


def _happened(alert: Alert, change: AlertChange, told: AlertChange, head: Letterhead, words: Common) -> str:
    """Say what the notice is about, and what has overtaken it since."""
    at_ms = {AlertChange.ENDED: alert.ended_ms, AlertChange.RETURNED: alert.returned_ms}.get(told)
    if told is change or at_ms is None or change is AlertChange.RETURNED:
        return change_sentence(told, alert.priority, alert.acknowledged_by or "", head.language)
    line = change_sentence(change, alert.priority, alert.acknowledged_by or "", head.language)
    return f"{line} {words.template('since', told.value).render(at=words.figures.date_clock(at_ms, head.zone))}"


def _times(alert: Alert, say: dict[str, str], head: Letterhead, words: Common) -> tuple[tuple[str, str], ...]:
    times = (("opened", alert.opened_ms), ("returned", alert.returned_ms), ("ended", alert.ended_ms))
    lines = [(say[key], words.figures.date_clock(at, head.zone)) for key, at in times if at is not None]
    if alert.acknowledged_ms is not None and alert.acknowledged_by:
        at = words.figures.date_clock(alert.acknowledged_ms, head.zone)
        lines.append((say["seen"], f"{one_line(alert.acknowledged_by, 80)}, {at}"))
    elif alert.ended_ms is None:
        lines.append((say["seen"], say["nobody"]))
    return tuple(lines)


def _address(name: str, address: str) -> Address:
    try:
        return Address(display_name=one_line(name, 80), addr_spec=address)
    except (ValueError, LookupError) as error:  # the parser raises both
        raise ValueError(f"{one_line(address)!r} is no e-mail address: {error}") from error


def _message_id(key: str, sender: str) -> str:
    """Give a Message-ID that is the same at every try, under the sender's domain."""
    domain = sender.rpartition("@")[2]
    return f"<{key}@{domain.encode('idna').decode('ascii')}>"


@cache
def _template(name: str) -> Template:
    env = ImmutableSandboxedEnvironment(
        undefined=StrictUndefined,
        autoescape=name.endswith(".html"),
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    return env.from_string((resources.files("monitor.messages") / "templates" / name).read_text("utf-8"))
