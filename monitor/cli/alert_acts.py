"""What is asked for about an alert or aboard a vessel: to the running agent, or into the journal where none runs."""

import argparse
from collections.abc import Callable
from typing import TypeVar
from urllib.parse import quote
from zoneinfo import ZoneInfo

from pydantic import BaseModel, ValidationError

from monitor.cli.agent_or_journal import Question, carry_out, yard_time_ms
from monitor.cli.alert_listed import found_alert, opened, yard_clock
from monitor.cli.alert_said import say_done, say_done_aboard
from monitor.cli.run import settings_from
from monitor.cli.trouble import RefusedError
from monitor.fleet import Fleet
from monitor.model.inputs import Aboard, AlertCommand, EndSuppression, HandOver, Suppress
from monitor.model.named import NamingError, SomebodysCommand, named
from monitor.model.only_managers import refused_to
from monitor.model.vessel import Person
from monitor.settings import Settings
from monitor.store.view import JournalView
from monitor.web.acts import AboardIn, AlertAct, AshoreIn
from monitor.web.unfit import Unfit, unfit, unfit_aboard
from monitor.web.until import UntilError

REASONS = {"people": Aboard.PEOPLE, "wash-down": Aboard.WASH_DOWN, "lift": Aboard.LIFT}

_Shape = TypeVar("_Shape", bound=BaseModel)
_Command = TypeVar("_Command", bound=SomebodysCommand)


def act_on_alert(arguments: argparse.Namespace) -> int:
    """Do something about an alert."""
    settings = settings_from(arguments.settings)
    with opened(settings) as view:
        alert = found_alert(view, arguments.alert)
        owner, now_ms = _owner(view, alert.vessel), yard_clock(settings, view).now_ms
    if not alert.is_open:
        raise RefusedError(f"{alert.id}: this alert has ended already; there is nothing left to do about it")
    shape: type[AlertAct] = arguments.act
    given = {key: getattr(arguments, key) for key in shape.model_fields if hasattr(arguments, key)}
    act, zone = _made(shape, given | {"name": arguments.by}), ZoneInfo(settings.yard.zone)

    def command(at_ms: int) -> AlertCommand:
        return _named(lambda: act.command(alert, at_ms, zone), settings, owner)

    def to_fleet(fleet: Fleet) -> None:
        wanted = command(yard_time_ms(settings, fleet))
        refused = refused_to(wanted, alert, settings.roster.is_manager)
        if refused is not None:
            raise RefusedError(refused)
        fleet.command(wanted)

    asked = command(now_ms)  # names and times that cannot be made out are said before anybody is asked
    _see_that_it_fits(unfit(asked, alert), alert.id)
    names = {"name": asked.actor} | ({"to": asked.to} if isinstance(asked, HandOver) else {})
    body = act.model_copy(update=names).model_dump_json().encode()
    path = f"/api/alerts/{alert.id}/{arguments.action}"
    carry_out(settings, [Question("POST", path, body, about=alert.id)], to_fleet)
    say_done(settings, alert.id, asked)
    return 0


def say_aboard(arguments: argparse.Namespace) -> int:
    """Say what is done aboard a vessel."""
    given = {"name": arguments.by, "reason": REASONS[arguments.reason], "until": arguments.until}
    act = _made(AboardIn, given | {"note": arguments.note})
    return _aboard(arguments, act, lambda body, _: Question("POST", _place(arguments.vessel), body, arguments.vessel))


def say_ashore(arguments: argparse.Namespace) -> int:
    """Say that what was done aboard is over."""
    act = _made(AshoreIn, {"name": arguments.by})

    def question(_: bytes, name: str) -> Question:
        return Question("DELETE", f"{_place(arguments.vessel)}?name={quote(name)}", None, arguments.vessel)

    return _aboard(arguments, act, question)


def _aboard(arguments: argparse.Namespace, act: AboardIn | AshoreIn, question: Callable[[bytes, str], Question]) -> int:
    settings, vessel = settings_from(arguments.settings), arguments.vessel
    with opened(settings) as view:
        if view.record(vessel) is None:
            raise RefusedError(f"no vessel {vessel!r} in this journal; coldberth vessel list names them")
        owner, now_ms = _owner(view, vessel), yard_clock(settings, view).now_ms
        aboard = next((now.aboard for now in view.vessels_now({vessel})), None)
    zone = ZoneInfo(settings.yard.zone)

    def command(at_ms: int) -> Suppress | EndSuppression:
        return _named(lambda: act.command(vessel, at_ms, zone), settings, owner)

    asked = command(now_ms)
    _see_that_it_fits(unfit_aboard(asked, aboard, settings.roster, owner), vessel)
    body = act.model_copy(update={"name": asked.actor}).model_dump_json().encode()
    to_ask = question(body, asked.actor)
    carry_out(settings, [to_ask], lambda fleet: fleet.command(command(yard_time_ms(settings, fleet))))
    say_done_aboard(settings, asked)
    return 0


def _owner(view: JournalView, vessel: str) -> Person | None:
    stored = view.record(vessel)
    return None if stored is None else stored.vessel.owner


def _named(make: Callable[[], _Command], settings: Settings, owner: Person | None) -> _Command:
    """Make a command, with everybody in it called as the settings have them.

    Raises:
        RefusedError: where a name or a time in it cannot be made out.
    """
    try:
        return named(make(), settings.roster, owner)
    except UntilError as error:
        raise RefusedError(f"--until: {error}") from error
    except NamingError as error:
        raise RefusedError(f"--{'by' if error.key == 'name' else error.key}: {error}") from error


def _see_that_it_fits(misfit: Unfit | None, about: str) -> None:
    if misfit is not None:
        where = {"name": "--by", "": about}.get(misfit.key, f"--{misfit.key}")
        raise RefusedError(f"{where}: {misfit.reason}")


def _place(vessel: str) -> str:
    return f"/api/vessels/{quote(vessel, safe='')}/aboard"


def _made(shape: type[_Shape], given: dict[str, object]) -> _Shape:
    """Make what is asked for of what was typed.

    Raises:
        RefusedError: with every mistake, one line each.
    """
    try:
        return shape.model_validate(given)
    except ValidationError as error:
        # The field of the name is --by here; a validator's own sentence stands after pydantic's two words.
        lines = []
        for mistake in error.errors():
            key = str(next(iter(mistake["loc"]), "")).replace("_", "-")
            where = f"--{'by' if key == 'name' else key}: " if key else ""
            lines.append(f"{where}{mistake['msg'].removeprefix('Value error, ')}")
        raise RefusedError("\n".join(lines)) from error
