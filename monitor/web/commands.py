"""Hands people's commands to the agent, and waits until what they brought about is committed."""

import asyncio
from collections.abc import Sequence

from fastapi import HTTPException
from fastapi.concurrency import run_in_threadpool

from monitor.model.alert import Alert
from monitor.model.inputs import Acknowledge, Command
from monitor.web import sight
from monitor.web.acts import AboardIn, AlertAct, AshoreIn
from monitor.web.deps import Deps
from monitor.web.found import vessel_now
from monitor.web.problems import Mistake, ProblemError
from monitor.web.sight import Viewer
from monitor.web.until import UntilError

TIMEOUT_S = 30


async def hand_in(deps: Deps, command: Command) -> None:
    """Hand a command to the agent, and wait for its answer.

    Raises:
        ProblemError: where it was refused (409), in the agent's words, or not answered in time (503).
    """
    error = await _answer(deps, command)
    if error is not None:
        raise ProblemError(409, error)


async def act_on_alert(deps: Deps, viewer: Viewer, alert_id: str, act: AlertAct) -> Alert:
    """Do something about an alert, and wait until it has been committed.

    Returns:
        The alert as it was before.

    Raises:
        HTTPException: where there is no such alert.
        ProblemError: where it cannot be done, in words.
    """
    alert = await run_in_threadpool(deps.alerts.alert, alert_id)
    if alert is None or not sight.may_see(viewer, alert.vessel):
        raise HTTPException(404, f"There is no alert {alert_id!r}.")
    if not alert.is_open:
        raise ProblemError(409, "This alert has ended already; there is nothing left to do about it.")
    try:
        command = act.command(alert, deps.now_ms(), deps.zone)
    except UntilError as error:
        raise _no_time(error) from error
    await hand_in(deps, command)
    return alert


async def act_on_vessel(deps: Deps, viewer: Viewer, vessel_id: str, act: AboardIn | AshoreIn) -> None:
    """Say what is done aboard a vessel, or that it is over, and wait until it has been committed.

    Raises:
        HTTPException: where there is no such vessel.
        ProblemError: where it cannot be done, in words.
    """
    await run_in_threadpool(vessel_now, deps, viewer, vessel_id)
    try:
        command = act.command(vessel_id, deps.now_ms(), deps.zone)
    except UntilError as error:
        raise _no_time(error) from error
    await hand_in(deps, command)


async def acknowledge_all(deps: Deps, alerts: Sequence[Alert], name: str, note: str = "", link: str = "") -> None:
    """Acknowledge alerts by one name, all handed in at once so that they can be committed together.

    Raises:
        ProblemError: where some could not be, in words, with how many could.
    """
    at_ms = deps.now_ms()
    commands = [Acknowledge(a.vessel, a.id, at_ms, name, note, link) for a in alerts]
    answers = await asyncio.gather(*(_answer(deps, command) for command in commands))
    refused = [(a, error) for a, error in zip(alerts, answers, strict=True) if error is not None]
    if refused:
        done = len(alerts) - len(refused)
        mistakes = [Mistake(key=alert.vessel, reason=error) for alert, error in refused]
        raise ProblemError(409, f"{done} of {len(alerts)} alerts are noted as seen; the others were refused.", mistakes)


async def _answer(deps: Deps, command: Command) -> str | None:
    try:
        return await asyncio.wait_for(asyncio.wrap_future(deps.submit(command)), TIMEOUT_S)
    except TimeoutError as late:
        raise ProblemError(503, "The watch did not answer in time; it may still have taken it.") from late


def _no_time(error: UntilError) -> ProblemError:
    return ProblemError(422, f"{error}.", [Mistake(key="until", reason=str(error))])
