"""Hands what somebody asks for to the agent that runs; where none runs, does it to the journal itself.

One writer: the lock beside the journal says whether an agent runs, and where it takes questions.
"""

import json
import time
import urllib.error
import urllib.request
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass

from monitor.cli.trouble import RefusedError, TroubleError
from monitor.fleet import CommandError, Fleet
from monitor.model.batch import Batch
from monitor.settings import ClockMode, Settings
from monitor.store.access import machine_token
from monitor.store.journal import Journal
from monitor.store.lock import JournalBusyError, WriterLock
from monitor.store.secret import SecretFileError
from monitor.teller import Teller

HTTP_WITHIN_S = 35
"""Longer than the agent waits for its own watch, so that its words come rather than silence."""


@dataclass(frozen=True, slots=True)
class Question:
    """A question to the agent's API.

    Attributes:
        method: of HTTP.
        path: where, with its query.
        body: JSON, None where it has none.
        about: what it is about, for errors.
    """

    method: str
    path: str
    body: bytes | None
    about: str


def carry_out(settings: Settings, questions: list[Question], to_fleet: Callable[[Fleet], None]) -> None:
    """Have something done.

    Args:
        settings: of the yard.
        questions: what the agent is asked, where one runs.
        to_fleet: does it to the yard's fleet, where none runs; what it brought about is committed after it.

    Raises:
        RefusedError: where it may not be done as things stand, in words.
        TroubleError: where the journal or the agent cannot be reached.
    """
    path = settings.journal.path
    path.parent.mkdir(parents=True, exist_ok=True)
    try:
        lock = WriterLock(path)
    except JournalBusyError as error:
        if not error.address:
            raise TroubleError(str(error)) from error
        for question in questions:
            _ask(error.address, _token(settings), question)
        return
    try:
        with closing(Journal(path)) as journal:
            fleet = Fleet(journal)
            fleet.restore(journal)
            try:
                to_fleet(fleet)
            except CommandError as error:
                raise RefusedError(str(error)) from error
            batch = fleet.hand_over()
            _tell(settings, journal, fleet, batch)
            journal.append(batch)
    finally:
        lock.release()


def yard_time_ms(settings: Settings, fleet: Fleet, otherwise_ms: int = 0) -> int:
    """Give the yard's time: the wall's, or the stream's last clock (``otherwise_ms`` before its first)."""
    if settings.journal.clock is ClockMode.STREAM:
        return fleet.clock_ms or otherwise_ms
    return time.time_ns() // 1_000_000


def _tell(settings: Settings, journal: Journal, fleet: Fleet, batch: Batch) -> None:
    """Plan what people are told of it, as the agent would: else it would go on ringing for what somebody has."""
    kept = journal.telling()
    if kept is None:
        return  # no agent has run yet: its first start takes what is open as it finds it
    open_now = (alert for watch in fleet.watches.values() for alert in watch.open_alerts())
    Teller(settings, kept, lambda: open_now).take(batch, fleet.vessel)


def _token(settings: Settings) -> str:
    try:
        return machine_token(settings.journal.path)
    except (SecretFileError, OSError) as error:
        raise TroubleError(f"the agent takes nothing from whoever cannot read its files: {error}") from error


def _ask(address: str, token: str, question: Question) -> None:
    request = urllib.request.Request(  # noqa: S310 - the address is the agent's own, from its lock file
        f"{address}{question.path}",
        method=question.method,
        data=question.body,
        headers={"Content-Type": "application/json", "Authorization": f"Bearer {token}"},
    )
    try:
        with urllib.request.urlopen(request, timeout=HTTP_WITHIN_S):  # noqa: S310 - as above
            return
    except urllib.error.HTTPError as error:
        raise RefusedError(f"{question.about}: the agent refuses it: {_reason(error)}") from error
    except OSError as error:
        raise TroubleError(f"{question.about}: the agent at {address} does not answer: {error}") from error


def _reason(error: urllib.error.HTTPError) -> str:
    try:
        problem = json.loads(error.read())
        detail, mistakes = str(problem["detail"]), problem.get("errors") or []
        more = (f"{m['key']}: {m['reason']}" for m in mistakes if str(m["reason"]) not in detail)
        return " ".join([detail, *more])
    except (ValueError, KeyError, TypeError):  # what answers there is no agent
        return f"{error.code} {error.reason}"
