"""What a broker is told of a device or of the agent: the line of its password file, and what it may do there.

The forms are Mosquitto's own (mosquitto_passwd(1), ``acl_file`` in mosquitto.conf(5)).
"""

import base64
import hashlib
import secrets
from collections.abc import Sequence
from dataclasses import dataclass

from monitor.intake.topics import Topics

ITERATIONS = 101
"""As mosquitto_passwd(1) of version 2.0 writes it. What is hashed here are 128 random bits, which nobody guesses."""
SALT_BYTES = 12
AGENT = "agent"
"""What the agent's own user name at the broker begins with. No vessel may be called so."""


@dataclass(frozen=True, slots=True)
class Credential:
    """A user of the broker.

    Attributes:
        user: its name.
        password: shown once, and kept by the device alone.
        password_line: its line of the broker's password file.
        access_lines: its lines of the broker's access file.
    """

    user: str
    password: str
    password_line: str
    access_lines: tuple[str, ...]


def device_credential(yard: str, vessel: str, device: str) -> Credential:
    """Make what a device aboard needs: it may publish under its own vessel, and read nothing."""
    return _made(f"{vessel}.{device}", (f"topic write {Topics(yard).bare(vessel, '+')}",))


def agent_credential(yard: str, alerts_root: str, sources: Sequence[str] = ()) -> Credential:
    """Make what the agent needs: it reads all of its yard, and publishes its marker, its state and the alerts.

    Args:
        yard: the yard's id.
        alerts_root: the first level of the topics of alerts.
        sources: the topic filters of other sensors' forms that it listens to.
    """
    topics = Topics(yard)
    lines = (
        *(f"topic read {one}" for one in (*topics.filters, *sources)),
        *(f"topic write {one}" for one in (topics.agent, topics.marker)),
        f"topic readwrite {alerts_root}/{yard}/#",
    )
    return _made(f"{AGENT}.{yard}", lines)


def password_line(user: str, password: str, salt: bytes) -> str:
    """Give a user's line of the password file: PBKDF2 with SHA-512.

    >>> password_line("x", "y", base64.b64decode("/GyIgCwRhWfCoh0k"))[:40]  # as mosquitto_passwd -U wrote it
    'x:$7$101$/GyIgCwRhWfCoh0k$UEiD4IG/Z9cccs'
    """
    hashed = hashlib.pbkdf2_hmac("sha512", password.encode(), salt, ITERATIONS, 64)
    shown = [base64.b64encode(part).decode() for part in (salt, hashed)]
    return f"{user}:$7${ITERATIONS}${shown[0]}${shown[1]}"


def _made(user: str, access: tuple[str, ...]) -> Credential:
    password = secrets.token_urlsafe(16)
    return Credential(
        user, password, password_line(user, password, secrets.token_bytes(SALT_BYTES)), (f"user {user}", *access)
    )
