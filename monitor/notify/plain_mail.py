"""A notice in plain words as an e-mail, under the identity that it has however it is written."""

from datetime import UTC, datetime
from email.headerregistry import Address
from email.message import EmailMessage
from email.utils import format_datetime

from monitor.messages.headers import MAIL
from monitor.messages.plain import one_line
from monitor.model.outbox import Waiting
from monitor.model.scale import Priority
from monitor.notify.plain_words import plain_words

LONGEST_NAME = 80


def plain_mail(waiting: Waiting, sender: str, at_ms: int) -> EmailMessage:
    """Write a notice in plain words as an e-mail.

    Args:
        waiting: what is to be told to whom.
        sender: address it comes from.
        at_ms: when it is written (ms UTC).

    Raises:
        ValueError: where the address cannot stand in a message, or there is nothing to tell.
    """
    notice, words = waiting.notice, plain_words(waiting)
    domain = sender.rpartition("@")[2].encode("idna").decode("ascii")
    message = EmailMessage(policy=MAIL)
    message["Subject"] = words.title
    message["From"] = Address(addr_spec=sender)
    message["To"] = _address(notice.person, notice.address)
    message["Date"] = format_datetime(datetime.fromtimestamp(at_ms / 1000, UTC))
    message["Message-ID"] = f"<{notice.id}@{domain}>"
    if waiting.opening != notice.id:
        message["In-Reply-To"] = message["References"] = f"<{waiting.opening}@{domain}>"
    message["Auto-Submitted"] = "auto-generated"
    if words.priority is Priority.ALARM:
        message["Importance"] = "high"
    message.set_content(f"{words.body}\n", cte="quoted-printable")
    return message


def _address(name: str, address: str) -> Address:
    try:
        return Address(display_name=one_line(name, LONGEST_NAME), addr_spec=address)
    except LookupError as error:  # the parser raises both
        raise ValueError(f"{one_line(address)!r} is no e-mail address: {error}") from error
