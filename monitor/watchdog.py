"""Tells systemd that the agent is ready, and that it still turns: datagrams to a socket, as sd_notify(3) has it."""

import logging
import os
import socket

log = logging.getLogger(__name__)


class Watchdog:
    """Speaks to the service manager where there is one; elsewhere it says nothing."""

    def __init__(self) -> None:
        address = os.environ.get("NOTIFY_SOCKET", "")
        self._address = "\0" + address[1:] if address.startswith("@") else address
        self._failed = False

    def ready(self) -> None:
        """Say that the start is over."""
        self._say("READY=1")

    def feed(self) -> None:
        """Say that the agent still turns; without this for ``WatchdogSec`` the service manager starts it anew."""
        self._say("WATCHDOG=1")

    def stopping(self) -> None:
        """Say that the end has begun."""
        self._say("STOPPING=1")

    def _say(self, words: str) -> None:
        if not self._address:
            return
        try:
            with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as to:
                to.sendto(words.encode(), self._address)
        except OSError as error:
            if not self._failed:
                log.warning("the service manager cannot be told that the agent turns: %s", error)
            self._failed = True
