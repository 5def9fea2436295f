"""Hands people's commands to the agent, and waits until what they brought about is committed."""

import asyncio

from fastapi import HTTPException
from fastapi.concurrency import run_in_threadpool

from monitor.model.alert import Alert
from monitor.model.inputs import Acknowledge, Command
from monitor.web import sight
from monitor.web.deps import Deps
from monitor.web.problems import ProblemError
from monitor.web.sight import Viewer

TIMEOUT_S = 30


async def hand_in(deps: Deps, command: Command) -> None:
    """Hand a command to the agent, and wait for its answer.

    Raises:
        ProblemError: where it was refused (409), in the agent's words, or not answered in time (503).
    """
    try:
        error = await asyncio.wait_for(asyncio.wrap_future(deps.submit(command)), TIMEOUT_S)
    except TimeoutError as late:
        raise ProblemError(503, "The watch did not answer in time; it may still have taken it.") from late
    if error is not None:
        raise ProblemError(409, error)


async def acknowledge_alert(deps: Deps, viewer: Viewer, alert_id: str, name: str, note: str) -> Alert:
    """Hand an acknowledgement to the agent, and wait until it has been committed.

    Raises:
        HTTPException: where there is no such alert.
        ProblemError: where it cannot be done, in words.
    """
    alert = await run_in_threadpool(deps.alerts.alert, alert_id)
    if alert is None or not sight.may_see(viewer, alert.vessel):
        raise HTTPException(404, f"There is no alert {alert_id!r}.")
    who = " ".join(name.split())
    if not who:
        raise ProblemError(422, "Write who you are: the next person wants to know whom to ask.")
    if not alert.is_open:
        raise ProblemError(409, "This alert has ended already; there is nothing left to acknowledge.")
    command = Acknowledge(alert.vessel, alert.id, deps.now_ms(), who, " ".join(note.split()))
    await hand_in(deps, command)
    return alert
