"""A notice as an e-mail that reads well on a phone in the dark.

Every text in it is one plain line (`monitor.messages.plain`) before it reaches a header, and escaped before it reaches
HTML, so that a boat's name can carry neither a header nor markup.
"""

from datetime import datetime
from email.headerregistry import Address
from email.message import EmailMessage
from email.utils import format_datetime

from monitor.messages.headers import MAIL
from monitor.messages.letter import write_letter
from monitor.messages.letterhead import Letterhead
from monitor.messages.plain import one_line
from monitor.model.outbox import Waiting


def write_mail(waiting: Waiting, head: Letterhead, date: datetime, *, strict: bool = False) -> EmailMessage:
    """Write the e-mail of a notice.

    Its Message-ID is the notice's own at every try. Messages of one call to one address make a thread: all that follow
    refer to the one by which they were first told.

    Args:
        waiting: what is to be told to whom, as it stands now.
        head: what all messages of the yard share.
        date: when it is written (aware).
        strict: raise where words are missing, instead of falling back.

    Raises:
        ValueError: where the address cannot stand in a message, or there is nothing to tell.
        MissingWordsError: only when strict.
    """
    notice, letter = waiting.notice, write_letter(waiting, head, strict=strict)
    message = EmailMessage(policy=MAIL)
    message["Subject"] = letter.subject
    message["From"] = _address(head.name, head.sender)
    message["To"] = _address(notice.person, notice.address)
    message["Date"] = format_datetime(date)
    message["Message-ID"] = _message_id(notice.id, head.sender)
    if waiting.opening != notice.id:
        message["In-Reply-To"] = message["References"] = _message_id(waiting.opening, head.sender)
    message["Auto-Submitted"] = "auto-generated"
    if letter.is_urgent:
        message["Importance"] = "high"
    message.set_content(letter.text, cte="quoted-printable")
    message.add_alternative(letter.html, subtype="html", cte="quoted-printable")
    if letter.picture is not None:
        page = message.get_body(("html",))
        if isinstance(page, EmailMessage):
            page.add_related(letter.picture.png, "image", "png", cid=f"<{letter.cid}>", disposition="inline")
    return message


def _address(name: str, address: str) -> Address:
    try:
        return Address(display_name=one_line(name, 80), addr_spec=address)
    except (ValueError, LookupError) as error:  # the parser raises both
        raise ValueError(f"{one_line(address)!r} is no e-mail address: {error}") from error


def _message_id(key: str, sender: str) -> str:
    """Give a Message-ID that is the same at every try, under the sender's domain."""
    domain = sender.rpartition("@")[2]
    return f"<{key}@{domain.encode('idna').decode('ascii')}>"
