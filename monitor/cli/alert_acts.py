"""What is asked for about an alert or aboard a vessel: to the running agent, or into the journal where none runs."""

import argparse
from typing import TypeVar
from urllib.parse import quote
from zoneinfo import ZoneInfo

from pydantic import BaseModel, ValidationError

from monitor.cli.agent_or_journal import Question, carry_out, yard_time_ms
from monitor.cli.alert_listed import found_alert, opened
from monitor.cli.run import settings_from
from monitor.cli.trouble import RefusedError
from monitor.fleet import Fleet
from monitor.model.inputs import Aboard
from monitor.model.only_managers import refused_to
from monitor.settings import Settings
from monitor.web.acts import AboardIn, AlertAct, AshoreIn
from monitor.web.until import UntilError

REASONS = {"people": Aboard.PEOPLE, "wash-down": Aboard.WASH_DOWN, "lift": Aboard.LIFT}

_Shape = TypeVar("_Shape", bound=BaseModel)


def act_on_alert(arguments: argparse.Namespace) -> int:
    """Do something about an alert."""
    settings = settings_from(arguments.settings)
    with opened(settings) as view:
        alert = found_alert(view, arguments.alert)
    if not alert.is_open:
        raise RefusedError(f"{alert.id}: this alert has ended already; there is nothing left to do about it")
    shape: type[AlertAct] = arguments.act
    given = {key: getattr(arguments, key) for key in shape.model_fields if hasattr(arguments, key)}
    act = _made(shape, given | {"name": arguments.by})

    def to_fleet(fleet: Fleet) -> None:
        try:
            command = act.command(alert, yard_time_ms(settings, fleet), ZoneInfo(settings.yard.zone))
        except UntilError as error:
            raise RefusedError(f"--until: {error}") from error
        refused = refused_to(command, alert, settings.roster)
        if refused is not None:
            raise RefusedError(refused)
        fleet.command(command)

    path, body = f"/api/alerts/{alert.id}/{arguments.action}", act.model_dump_json().encode()
    carry_out(settings, [Question("POST", path, body, about=alert.id)], to_fleet)
    print(f"{alert.id}: {arguments.action.replace('-', ' ')}, by {act.name}")
    return 0


def say_aboard(arguments: argparse.Namespace) -> int:
    """Say what is done aboard a vessel."""
    given = {"name": arguments.by, "reason": REASONS[arguments.reason], "until": arguments.until}
    act = _made(AboardIn, given | {"note": arguments.note})
    question = Question("POST", _place(arguments.vessel), act.model_dump_json().encode(), about=arguments.vessel)
    _aboard(settings_from(arguments.settings), arguments.vessel, act, question)
    print(f"{arguments.vessel}: {act.reason} until {act.until}, by {act.name}")
    return 0


def say_ashore(arguments: argparse.Namespace) -> int:
    """Say that what was done aboard is over."""
    act = _made(AshoreIn, {"name": arguments.by})
    path = f"{_place(arguments.vessel)}?name={quote(act.name)}"
    question = Question("DELETE", path, None, about=arguments.vessel)
    _aboard(settings_from(arguments.settings), arguments.vessel, act, question)
    print(f"{arguments.vessel}: nothing is done aboard any more, by {act.name}")
    return 0


def _aboard(settings: Settings, vessel: str, act: AboardIn | AshoreIn, question: Question) -> None:
    with opened(settings) as view:
        if view.record(vessel) is None:
            raise RefusedError(f"no vessel {vessel!r} in this journal; coldberth vessel list names them")

    def to_fleet(fleet: Fleet) -> None:
        try:
            fleet.command(act.command(vessel, yard_time_ms(settings, fleet), ZoneInfo(settings.yard.zone)))
        except UntilError as error:
            raise RefusedError(f"--until: {error}") from error

    carry_out(settings, [question], to_fleet)


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
