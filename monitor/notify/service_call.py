"""One call of the apprise library, as a program of its own, so that a call that hangs can be ended.

Reads a `ServiceMessage` as JSON from standard input and writes a `ServiceAnswer` as JSON to standard output. The URL
stands in neither its arguments nor its environment, where others on the machine could read it.
"""

import json
import logging
import os
import sys
from dataclasses import asdict

from apprise import Apprise, AppriseAsset, NotifyFormat

from monitor.notify.service import ServiceAnswer, ServiceMessage


def call(message: ServiceMessage) -> ServiceAnswer:
    """Hand a message to its service."""
    lines = _Lines()
    services = logging.getLogger("apprise")
    services.addHandler(lines)
    known = taken = False
    try:
        # Sequential, so that what it logs comes before its answer.
        caller = Apprise(asset=AppriseAsset(async_mode=False, secure_logging=True))
        known = bool(caller.add(message.url))
        if known:
            taken = bool(caller.notify(body=message.body, title=message.title, body_format=NotifyFormat.TEXT))
    except Exception as error:  # noqa: BLE001 - a hundred plug-ins; whatever it was, the message was not taken
        known = True
        lines.said.append(f"{type(error).__name__}: {error}")
    finally:
        services.removeHandler(lines)
    return ServiceAnswer(known, taken, tuple(lines.said))


class _Lines(logging.Handler):
    """Keeps what is logged."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.said: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.said.append(record.getMessage())


if __name__ == "__main__":
    # What plug-ins print must not be taken for the answer, nor what programs print that they start.
    with os.fdopen(os.dup(sys.stdout.fileno()), "w") as answer_to:
        os.dup2(sys.stderr.fileno(), sys.stdout.fileno())
        answer_to.write(json.dumps(asdict(call(ServiceMessage(**json.load(sys.stdin))))))
