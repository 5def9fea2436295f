"""Handing e-mail to a server: smtplib, with its many failures sorted as `monitor.notify.connection` has them."""

import re
import smtplib
import socket
import ssl
from email.message import EmailMessage
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Self

from pydantic import BaseModel, ConfigDict, Field, SecretStr, model_validator

from monitor.model.loopback import is_loopback
from monitor.model.outbox import Waiting
from monitor.notify.connection import NotNowError, RefusedError, UnreachableError
from monitor.notify.plain_mail import plain_mail

_PERMANENT = 500
_SHUTTING_DOWN = 421
_LOGIN_WANTED = frozenset({530, 534, 535, 538})
_RELAY = re.compile(r"\brelay", re.IGNORECASE)
_LOGIN_IN_CLEAR = "a login needs security 'starttls' or 'tls': without it the password goes over the wire in clear"


class Security(StrEnum):
    """How the connection is protected: TLS from STARTTLS on, TLS from the first byte, or not at all."""

    STARTTLS = "starttls"
    TLS = "tls"
    NONE = "none"


_PORTS = {Security.STARTTLS: 587, Security.TLS: 465, Security.NONE: 25}


class SmtpConfig(BaseModel):
    """The mail server's address, how to log in, and who the messages come from."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    host: Annotated[str, Field(min_length=1)]
    port: Annotated[int, Field(ge=1, le=65_535)] | None = None
    security: Security = Security.STARTTLS
    username: str | None = None
    password: SecretStr | None = None
    sender: Annotated[str, Field(pattern=r"^[^@\s<>\",;:\\]+@[^@\s<>\",;:\\]+$", max_length=254)]
    ca_file: Path | None = None
    timeout_s: Annotated[float, Field(gt=0, le=300)] = 15.0

    @model_validator(mode="after")
    def _holds_together(self) -> Self:
        if (self.username is None) is not (self.password is None):
            raise ValueError("a login needs both username and password")
        if self.username is not None and self.security is Security.NONE and not is_loopback(self.host):
            raise ValueError(_LOGIN_IN_CLEAR)
        if self.ca_file is not None and self.security is Security.NONE:
            raise ValueError("ca_file is only used with security 'starttls' or 'tls'")
        return self

    @property
    def used_port(self) -> int:
        """The port: as set, else the usual one."""
        return _PORTS[self.security] if self.port is None else self.port


class SmtpConnection:
    """A connection to the mail server.

    Raises:
        UnreachableError: where there is none to be had.
    """

    def __init__(self, config: SmtpConfig) -> None:
        self._sender = config.sender
        self._smtp: smtplib.SMTP | None = None
        try:
            self._smtp = _connected(config)
        except (smtplib.SMTPException, OSError, ValueError) as error:
            self.close()
            raise UnreachableError(f"{config.host}:{config.used_port}: {_said(error)}") from error

    def plain(self, waiting: Waiting, at_ms: int) -> EmailMessage:
        """Write a notice in plain words."""
        return plain_mail(waiting, self._sender, at_ms)

    def send(self, message: EmailMessage) -> None:
        """Hand a message over."""
        if self._smtp is None:
            raise UnreachableError("not connected")
        to = [address.addr_spec for address in message["To"].addresses]
        try:
            self._smtp.send_message(message, self._sender, to)
        except smtplib.SMTPRecipientsRefused as error:
            raise _sorted(*next(iter(error.recipients.values()))) from error
        except smtplib.SMTPSenderRefused as error:
            raise UnreachableError(f"the sender {self._sender} is refused: {_said(error)}") from error
        except smtplib.SMTPDataError as error:
            raise _sorted(error.smtp_code, error.smtp_error) from error
        except smtplib.SMTPNotSupportedError as error:
            raise RefusedError(f"the server cannot carry this address: {error}") from error
        except (smtplib.SMTPException, OSError) as error:
            raise UnreachableError(_said(error)) from error

    def close(self) -> None:
        """Take leave of the server; where it does not answer, leave without."""
        smtp, self._smtp = self._smtp, None
        if smtp is not None:
            try:
                smtp.quit()
            except (smtplib.SMTPException, OSError):
                smtp.close()

    def abort(self) -> None:
        """Cut the line, from any thread."""
        smtp = self._smtp
        sock = None if smtp is None else smtp.sock
        if sock is not None:
            try:
                sock.shutdown(socket.SHUT_RDWR)
            except OSError:
                return  # it was cut already


def _connected(config: SmtpConfig) -> smtplib.SMTP:
    context = ssl.create_default_context(cafile=None if config.ca_file is None else str(config.ca_file))
    # Named here, since smtplib would otherwise ask the DNS for our full name, which can take long.
    ours, port = socket.gethostname(), config.used_port
    if config.security is Security.TLS:
        smtp: smtplib.SMTP = smtplib.SMTP_SSL(config.host, port, ours, timeout=config.timeout_s, context=context)
    else:
        smtp = smtplib.SMTP(config.host, port, ours, timeout=config.timeout_s)
    try:
        if config.security is Security.STARTTLS:
            smtp.starttls(context=context)
        if config.username is not None and config.password is not None:
            smtp.login(config.username, config.password.get_secret_value())
        else:
            smtp.ehlo_or_helo_if_needed()
    except BaseException:
        smtp.close()
        raise
    return smtp


def _sorted(code: int, said: bytes | str) -> RefusedError | NotNowError | UnreachableError:
    """Sort a server's answer about one message."""
    text = f"{code} {_text(said)}"
    if code == _SHUTTING_DOWN or code in _LOGIN_WANTED or (code >= _PERMANENT and _RELAY.search(text)):
        return UnreachableError(text)
    return RefusedError(text) if code >= _PERMANENT else NotNowError(text)


def _said(error: Exception) -> str:
    if isinstance(error, smtplib.SMTPResponseException):
        return f"{error.smtp_code} {_text(error.smtp_error)}"
    return str(error) or type(error).__name__


def _text(said: bytes | str) -> str:
    return (said.decode("utf-8", "replace") if isinstance(said, bytes) else said).replace("\n", " ")[:200]
