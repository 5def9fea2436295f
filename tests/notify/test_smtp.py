"""Handing messages to a real mail server, and sorting its refusals."""

import threading
import time
from collections.abc import Iterator
from email.message import EmailMessage
from pathlib import Path
from typing import Any

import pytest
from fixtures_broker import free_port
from pydantic import ValidationError
from servers import MailServer, SilentServer, login_of, server_context

from monitor.notify.connection import NotNowError, RefusedError, UnreachableError
from monitor.notify.smtp import Security, SmtpConfig, SmtpConnection

LOGIN = {"username": "watch", "password": "correct horse"}


def config(server: MailServer, **options: Any) -> SmtpConfig:
    plain = {"host": "127.0.0.1", "port": server.port, "security": "none", "sender": "watch@yard.example"}
    return SmtpConfig.model_validate(plain | options)


def message(to: str = "anna@example.org") -> EmailMessage:
    made = EmailMessage()
    made["Subject"], made["From"], made["To"], made["Message-ID"] = "Tern", "watch@yard.example", to, "<1@yard.example>"
    made.set_content("Go and look.")
    return made


def send(settings: SmtpConfig, to: str = "anna@example.org") -> None:
    connection = SmtpConnection(settings)
    try:
        connection.send(message(to))
    finally:
        connection.close()


@pytest.fixture
def secured(certificate: tuple[Path, Path]) -> Iterator[MailServer]:
    """A server that wants STARTTLS and a login."""
    server = MailServer(
        free_port(),
        tls_context=server_context(*certificate),
        require_starttls=True,
        auth_required=True,
        authenticator=login_of(LOGIN["username"], LOGIN["password"]),
    ).start()
    yield server
    server.stop()


@pytest.fixture
def wrapped(certificate: tuple[Path, Path]) -> Iterator[MailServer]:
    """A server that speaks TLS from the first byte."""
    server = MailServer(free_port(), ssl_context=server_context(*certificate)).start()
    yield server
    server.stop()


def test_a_message_is_taken_without_tls_and_login(mail_server: MailServer) -> None:
    send(config(mail_server))
    assert [to for to, _ in mail_server.box.taken] == ["anna@example.org"]
    assert mail_server.box.ids() == ["<1@yard.example>"]


def test_a_message_is_taken_over_starttls_with_login(secured: MailServer, certificate: tuple[Path, Path]) -> None:
    send(config(secured, security="starttls", ca_file=certificate[0], **LOGIN))
    assert secured.box.ids() == ["<1@yard.example>"]


def test_a_message_is_taken_over_tls(wrapped: MailServer, certificate: tuple[Path, Path]) -> None:
    send(config(wrapped, security="tls", ca_file=certificate[0]))
    assert wrapped.box.ids() == ["<1@yard.example>"]


@pytest.mark.parametrize("security", ["starttls", "tls"])
def test_a_certificate_nobody_vouches_for_is_not_trusted(
    secured: MailServer, wrapped: MailServer, security: str
) -> None:
    server = secured if security == "starttls" else wrapped
    with pytest.raises(UnreachableError, match="certificate verify failed"):
        send(config(server, security=security))
    assert server.box.asked == 0


def test_starttls_is_not_given_up_where_the_server_has_none(mail_server: MailServer) -> None:
    with pytest.raises(UnreachableError, match="STARTTLS"):
        send(config(mail_server, security="starttls"))
    assert mail_server.box.asked == 0


def test_a_refused_login_blames_no_message(secured: MailServer, certificate: tuple[Path, Path]) -> None:
    wrong = LOGIN | {"password": "wrong"}
    with pytest.raises(UnreachableError, match="535"):
        send(config(secured, security="starttls", ca_file=certificate[0], **wrong))


@pytest.mark.parametrize(
    ("answer", "kind"),
    [
        ("550 5.1.1 no such mailbox", RefusedError),
        ("553 5.1.3 bad address", RefusedError),
        ("452 4.2.2 mailbox full", NotNowError),
        ("450 4.7.1 greylisted, come again", NotNowError),
        ("421 4.3.2 shutting down", UnreachableError),
        ("530 5.7.0 authentication required", UnreachableError),
        ("554 5.7.1 <anna@example.org>: Relay access denied", UnreachableError),
    ],
)
def test_refusals_of_a_recipient_are_sorted(mail_server: MailServer, answer: str, kind: type[Exception]) -> None:
    mail_server.box.to_recipient["anna@example.org"] = answer
    with pytest.raises(kind, match=answer[:3]):
        send(config(mail_server))


@pytest.mark.parametrize(
    ("answer", "kind"),
    [
        ("554 5.6.0 message refused", RefusedError),
        ("451 4.3.0 local error", NotNowError),
        ("421 4.3.2 shutting down", UnreachableError),
    ],
)
def test_refusals_of_a_message_are_sorted(mail_server: MailServer, answer: str, kind: type[Exception]) -> None:
    mail_server.box.to_message["*"] = answer
    with pytest.raises(kind, match=answer[:3]):
        send(config(mail_server))


def test_a_connection_carries_on_after_a_refusal(mail_server: MailServer) -> None:
    mail_server.box.to_recipient["gone@example.org"] = "550 no such mailbox"
    connection = SmtpConnection(config(mail_server))
    with pytest.raises(RefusedError):
        connection.send(message("gone@example.org"))
    connection.send(message())
    connection.close()
    assert len(mail_server.box.taken) == 1


def test_a_server_that_is_not_there_is_unreachable() -> None:
    nowhere = MailServer(free_port())
    with pytest.raises(UnreachableError, match=f"127.0.0.1:{nowhere.port}"):
        send(config(nowhere))


def test_a_server_that_says_nothing_is_unreachable_after_the_time_allowed() -> None:
    silent = SilentServer()
    settings = SmtpConfig(host="127.0.0.1", port=silent.port, security=Security.NONE, sender="w@y.z", timeout_s=0.3)
    began = time.monotonic()
    with pytest.raises(UnreachableError, match="timed out"):
        send(settings)
    assert time.monotonic() - began < 2
    silent.close()


def test_an_open_connection_can_be_cut_from_another_thread(mail_server: MailServer) -> None:
    connection = SmtpConnection(config(mail_server))
    thread = threading.Thread(target=connection.abort)
    thread.start()
    thread.join(1)
    with pytest.raises(UnreachableError):
        connection.send(message())
    connection.close()


@pytest.mark.parametrize(
    ("options", "reason"),
    [
        ({"username": "watch"}, "both username and password"),
        ({"password": "x"}, "both username and password"),
        ({"host": "mail.example", **LOGIN}, "in clear"),
        ({"ca_file": "x.pem"}, "ca_file is only used"),
        ({"sender": "watch"}, "String should match pattern"),
        ({"sender": "watch@yard.example\r\nBcc: x@y.z"}, "String should match pattern"),
        ({"port": 0}, "greater than or equal to 1"),
        ({"tls": True}, "Extra inputs are not permitted"),
    ],
)
def test_settings_that_cannot_work_are_refused_with_a_reason(options: dict[str, Any], reason: str) -> None:
    plain = {"host": "localhost", "security": "none", "sender": "watch@yard.example"}
    with pytest.raises(ValidationError, match=reason):
        SmtpConfig.model_validate(plain | options)


def test_the_port_follows_the_security_and_the_password_is_not_printed() -> None:
    made = SmtpConfig.model_validate({"host": "mail.example", "sender": "w@yard.example", **LOGIN})
    assert (made.security, made.used_port) == (Security.STARTTLS, 587)
    assert made.model_copy(update={"security": Security.TLS}).used_port == 465
    assert LOGIN["password"] not in repr(made)
