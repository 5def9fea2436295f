"""Hands people's commands to the agent, and waits until what they brought about is committed."""

import asyncio
from collections.abc import Sequence
from concurrent.futures import Future
from dataclasses import replace
from typing import TypeVar

from fastapi.concurrency import run_in_threadpool

from monitor.model.alert import Alert
from monitor.model.inputs import Accept, Acknowledge, AlertCommand, Command, VesselCommand
from monitor.model.named import NamingError, SomebodysCommand, is_stranger, named, who
from monitor.model.only_managers import refused_to
from monitor.web.acts import AboardIn, AlertAct, AshoreIn
from monitor.web.deps import Deps
from monitor.web.found import vessel_now, visible_alert
from monitor.web.people_known import owner_of
from monitor.web.problems import Mistake, ProblemError
from monitor.web.sight import Viewer
from monitor.web.until import UntilError

TIMEOUT_S = 30
_Command = TypeVar("_Command", bound=SomebodysCommand)


async def hand_in(deps: Deps, command: Command) -> None:
    """Hand a command to the agent, and wait for its answer.

    Raises:
        ProblemError: where it was refused (409), in the agent's words, or not answered in time (503).
    """
    await taken(deps.submit(command))


async def taken(answer: "Future[str | None]") -> None:
    """Wait until the agent has committed something.

    Raises:
        ProblemError: where it was refused (409), in the agent's words, or not answered in time (503).
    """
    error = await _answer(answer)
    if error is not None:
        raise ProblemError(409, error)


async def act_on_alert(deps: Deps, viewer: Viewer, alert_id: str, act: AlertAct) -> AlertCommand:
    """Do something about an alert, and wait until it has been committed.

    Returns:
        What was done, with everybody called as the settings have them.

    Raises:
        HTTPException: where there is no such alert.
        ProblemError: where it cannot be done, in words.
    """
    alert = await run_in_threadpool(visible_alert, deps, viewer, alert_id)
    if not alert.is_open:
        raise ProblemError(409, "This alert has ended already; there is nothing left to do about it.")
    try:
        command = act.command(alert, deps.now_ms(), deps.zone)
    except UntilError as error:
        raise _mistake("until", error) from error
    command = await run_in_threadpool(_named, deps, viewer, command)
    if not viewer.may_act and not _is_handed_to(viewer, command, alert):
        raise ProblemError(403, "An owner may take on what is handed to them, and nothing else: ring the yard.")
    refused = refused_to(command, alert, viewer.is_manager) if viewer.signed_in else None
    if refused is not None:
        raise ProblemError(409, refused)
    await hand_in(deps, command)
    return command


async def act_on_vessel(deps: Deps, viewer: Viewer, vessel_id: str, act: AboardIn | AshoreIn) -> VesselCommand:
    """Say what is done aboard a vessel, or that it is over, and wait until it has been committed.

    Returns:
        What was done, with whoever did it called as the settings have them.

    Raises:
        HTTPException: where there is no such vessel.
        ProblemError: where it cannot be done, in words.
    """
    await run_in_threadpool(vessel_now, deps, viewer, vessel_id)
    try:
        command = act.command(vessel_id, deps.now_ms(), deps.zone)
    except UntilError as error:
        raise _mistake("until", error) from error
    command = await run_in_threadpool(_named, deps, viewer, command)
    await hand_in(deps, command)
    return command


async def acknowledge_all(
    deps: Deps, viewer: Viewer, alerts: Sequence[Alert], name: str, note: str = "", link: str = ""
) -> None:
    """Acknowledge alerts by one name, all handed in at once so that they can be committed together.

    Raises:
        ProblemError: where some could not be, in words, with how many could.
    """
    at_ms = deps.now_ms()
    asked = [Acknowledge(a.vessel, a.id, at_ms, name, note, link) for a in alerts]
    commands = await run_in_threadpool(lambda: [_named(deps, viewer, command) for command in asked])
    answers = await asyncio.gather(*(_answer(deps.submit(command)) for command in commands))
    refused = [(a, error) for a, error in zip(alerts, answers, strict=True) if error is not None]
    if refused:
        done = len(alerts) - len(refused)
        mistakes = [Mistake(key=alert.vessel, reason=error) for alert, error in refused]
        raise ProblemError(409, f"{done} of {len(alerts)} alerts are noted as seen; the others were refused.", mistakes)


def name_of(deps: Deps, viewer: Viewer, written: str, vessel: str) -> str:
    """Give the name of whoever does something aboard a vessel.

    It is theirs where they signed in; else the settings' name for what they wrote, and of a visitor that itself.

    Raises:
        ProblemError: 422 where it could be more than one, in words.
    """
    if viewer.signed_in:
        return viewer.acts_as(written)
    try:
        return who(written, deps.roster, owner_of(deps, vessel))
    except NamingError as error:
        raise _mistake(error.key, error) from error


def said_of(deps: Deps, command: SomebodysCommand) -> list[str]:
    """Say what whoever did something should know of how it was taken, a sentence each."""
    if is_stranger(command.actor, deps.roster, owner_of(deps, command.vessel)):
        return [stranger_words(command.actor)]
    return []


def stranger_words(name: str) -> str:
    """Say that a name is none of the settings' people: a visitor, or a slip of the pen."""
    return f"{name} is not one of the settings' people; it is noted under that name."


def _is_handed_to(viewer: Viewer, command: AlertCommand, alert: Alert) -> bool:
    known = viewer.known
    if known is None or known.login is None or not isinstance(command, Accept):
        return False
    return (alert.offered_to or "").casefold() == known.name.casefold()


def _named(deps: Deps, viewer: Viewer, command: _Command) -> _Command:
    acting = replace(command, actor=viewer.acts_as(command.actor))
    try:
        return named(acting, deps.roster, owner_of(deps, command.vessel), signed_in=viewer.signed_in)
    except NamingError as error:
        raise _mistake(error.key, error) from error


async def _answer(answer: "Future[str | None]") -> str | None:
    try:
        return await asyncio.wait_for(asyncio.wrap_future(answer), TIMEOUT_S)
    except TimeoutError as late:
        raise ProblemError(503, "The watch did not answer in time; it may still have taken it.") from late


def _mistake(key: str, error: ValueError) -> ProblemError:
    return ProblemError(422, f"{error}.", [Mistake(key=key, reason=str(error))])
