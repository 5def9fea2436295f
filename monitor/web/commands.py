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
from monitor.web.unfit import STANDS_ON, Unfit, has_it_on, stands_on, unfit, unfit_aboard
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
    _see_that_it_fits(unfit(command, alert))
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
    now = await run_in_threadpool(vessel_now, deps, viewer, vessel_id)
    try:
        command = act.command(vessel_id, deps.now_ms(), deps.zone)
    except UntilError as error:
        raise _mistake("until", error) from error
    command = await run_in_threadpool(_named, deps, viewer, command)
    misfit = None if viewer.signed_in else unfit_aboard(command, now.aboard, deps.roster, now.stored.vessel.owner)
    _see_that_it_fits(misfit)
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
    await _all_taken(deps, await run_in_threadpool(lambda: [_named(deps, viewer, one) for one in asked]), "seen")


async def accept_all(deps: Deps, alerts: Sequence[Alert], name: str, note: str, link: str) -> None:
    """Take on what was handed to somebody, by the link in their message and in their name.

    Raises:
        ProblemError: where some could not be, in words, with how many could.
    """
    at_ms = deps.now_ms()
    await _all_taken(deps, [Accept(a.vessel, a.id, at_ms, name, note, link) for a in alerts], "taken on")


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
    alert = deps.alerts.alert(command.alert) if isinstance(command, AlertCommand) else None
    said = []
    if alert is not None and stands_on(command, alert):
        said.append(f"{STANDS_ON} {has_it_on(alert)}".rstrip())
    if is_stranger(command.actor, deps.roster, owner_of(deps, command.vessel)):
        said.append(stranger_words(command.actor))
    return said


def stranger_words(name: str) -> str:
    """Say that a name is none of the settings' people: a visitor, or a slip of the pen."""
    return f"The yard's list of people has no {name}; it is noted under that name."


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


def _see_that_it_fits(misfit: Unfit | None) -> None:
    if misfit is None:
        return
    reason = f"{misfit.reason}."
    raise (
        ProblemError(422, reason, [Mistake(key=misfit.key, reason=reason)]) if misfit.key else ProblemError(409, reason)
    )


async def _all_taken(deps: Deps, commands: Sequence[AlertCommand], noted: str) -> None:
    answers = await asyncio.gather(*(_answer(deps.submit(command)) for command in commands))
    refused = [(c, error) for c, error in zip(commands, answers, strict=True) if error is not None]
    if refused:
        done = len(commands) - len(refused)
        mistakes = [Mistake(key=command.vessel, reason=error) for command, error in refused]
        said = f"{done} of {len(commands)} alerts are noted as {noted}; the others were refused."
        raise ProblemError(409, said, mistakes)


async def _answer(answer: "Future[str | None]") -> str | None:
    try:
        return await asyncio.wait_for(asyncio.wrap_future(answer), TIMEOUT_S)
    except TimeoutError as late:
        raise ProblemError(503, "The watch did not answer in time; it may still have taken it.") from late


def _mistake(key: str, error: ValueError) -> ProblemError:
    return ProblemError(422, f"{error}.", [Mistake(key=key, reason=str(error))])
