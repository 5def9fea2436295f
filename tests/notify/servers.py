"""A real SMTP server that a test starts, stops, and tells how to answer."""

import socket
import ssl
import subprocess
from collections.abc import Callable
from dataclasses import dataclass, field
from email import message_from_bytes
from email.message import EmailMessage
from email.policy import default
from pathlib import Path
from typing import Any

from aiosmtpd.controller import Controller, UnthreadedController
from aiosmtpd.smtp import SMTP, AuthResult, Envelope, LoginPassword, Session


@dataclass
class Mailbox:
    """What the server took, and what it answers instead of taking: by recipient, or to everybody (``*``).

    An answer may be a text, or a list of texts that are used up one by one.
    """

    taken: list[tuple[str, EmailMessage]] = field(default_factory=list)
    to_recipient: dict[str, str | list[str]] = field(default_factory=dict)
    to_message: dict[str, str | list[str]] = field(default_factory=dict)
    asked: int = 0

    async def handle_RCPT(  # noqa: N802 - aiosmtpd's name
        self, _server: SMTP, _session: Session, envelope: Envelope, address: str, _options: list[str]
    ) -> str:
        self.asked += 1
        refusal = self._answer(self.to_recipient, address)
        if refusal is None:
            envelope.rcpt_tos.append(address)
        return refusal or "250 OK"

    async def handle_DATA(self, _server: SMTP, _session: Session, envelope: Envelope) -> str:  # noqa: N802
        refusal = self._answer(self.to_message, envelope.rcpt_tos[0])
        if refusal is None:
            message = message_from_bytes(envelope.original_content or b"", policy=default)
            assert isinstance(message, EmailMessage)
            self.taken.append((envelope.rcpt_tos[0], message))
        return refusal or "250 taken"

    def _answer(self, answers: dict[str, str | list[str]], address: str) -> str | None:
        answer = answers.get(address, answers.get("*"))
        if isinstance(answer, list):
            return answer.pop(0) if answer else None
        return answer

    def ids(self) -> list[str]:
        return [str(message["Message-ID"]) for _, message in self.taken]


class MailServer:
    """An SMTP server on a port that it keeps over restarts."""

    def __init__(self, port: int, **options: Any) -> None:
        self.port = port
        self.box = Mailbox()
        self._make: Callable[[], Controller] = lambda: Controller(
            self.box, hostname="127.0.0.1", port=port, server_hostname="mail.example", **options
        )
        self._running: UnthreadedController | None = None

    def start(self) -> "MailServer":
        self._running = self._make()
        self._running.start()
        return self

    def stop(self) -> None:
        if self._running is not None:
            self._running.stop()
            self._running = None


def login_of(username: str, password: str) -> Callable[..., AuthResult]:
    """Give an authenticator that knows one login."""

    def check(_server: SMTP, _session: Session, _envelope: Envelope, _mechanism: str, given: object) -> AuthResult:
        assert isinstance(given, LoginPassword)
        known = (given.login, given.password) == (username.encode(), password.encode())
        return AuthResult(success=known, handled=False)

    return check


def make_certificate(openssl: str, directory: Path) -> tuple[Path, Path]:
    """Make a certificate for 127.0.0.1 that signs itself, and its key."""
    certificate, key = directory / "cert.pem", directory / "key.pem"
    subprocess.run(
        [
            *(openssl, "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2", "-subj", "/CN=localhost"),
            *("-addext", "subjectAltName=DNS:localhost,IP:127.0.0.1", "-keyout", str(key), "-out", str(certificate)),
        ],
        check=True,
        capture_output=True,
    )
    return certificate, key


def server_context(certificate: Path, key: Path) -> ssl.SSLContext:
    context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    context.load_cert_chain(certificate, key)
    return context


class SilentServer:
    """Takes connections and never says a word."""

    def __init__(self) -> None:
        self._socket = socket.create_server(("127.0.0.1", 0))
        self.port: int = self._socket.getsockname()[1]

    def close(self) -> None:
        self._socket.close()
