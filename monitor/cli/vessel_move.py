"""``coldberth vessel move``: a vessel to another plot, berth or mode."""

import argparse
import json

from pydantic import ValidationError

from monitor.cli.agent_or_journal import Question, carry_out, yard_time_ms
from monitor.cli.run import settings_from
from monitor.cli.trouble import RefusedError, TroubleError
from monitor.fleet import Fleet
from monitor.model.document import mistakes
from monitor.model.inputs import RecordVersion
from monitor.model.vessel import Mode, Vessel
from monitor.record.commission import watch_state
from monitor.record.moving import Move, moved, warnings
from monitor.store.view import JournalView


def add_move(
    actions: "argparse._SubParsersAction[argparse.ArgumentParser]",
) -> argparse.ArgumentParser:
    """Add the command."""
    parser = actions.add_parser(
        "move",
        help="say where a vessel is now: a plot or a berth, and as what she lies there",
        epilog="Where another boat stands there, or her hull is open and she is to float, it is refused until --sure"
        " says that somebody looked. Where she may sit otherwise, the zero of her bilges is to be set anew.",
    )
    parser.add_argument("vessel", metavar="ID")
    where = parser.add_mutually_exclusive_group(required=True)
    where.add_argument("--plot", default="", help="where ashore")
    where.add_argument("--berth", default="", help="where afloat")
    parser.add_argument("--mode", choices=[mode.value for mode in Mode], help="as what; as she is where left out")
    parser.add_argument("--by", default="command line", metavar="NAME", help="who moved her")
    parser.add_argument("--sure", action="store_true", help="the warnings were read")
    parser.add_argument("--sits-otherwise", action="store_true", help="she was lifted, or her trim has changed")
    parser.set_defaults(run=move_vessel)
    return parser


def move_vessel(arguments: argparse.Namespace) -> int:
    """Move a vessel."""
    settings = settings_from(arguments.settings)
    path = settings.journal.path
    stored = JournalView(path).record(arguments.vessel) if path.exists() else None
    if stored is None:
        raise TroubleError(f"no vessel {arguments.vessel!r} in this journal; coldberth vessel list names them")
    mode = stored.vessel.mode if arguments.mode is None else Mode(arguments.mode)
    move = Move(mode, arguments.plot, arguments.berth, arguments.sits_otherwise)
    body = {
        "name": arguments.by,
        "mode": mode.value,
        "plot": move.plot,
        "berth": move.berth,
        "sits_otherwise": move.sits_otherwise,
        "sure": arguments.sure,
    }
    asked = Question("POST", f"/api/vessels/{arguments.vessel}/move", json.dumps(body).encode(), about=arguments.vessel)

    def write(fleet: Fleet) -> None:
        made = _checked(stored.vessel, move)
        others = [watch.record for vessel, watch in fleet.watches.items() if vessel != made.id]
        found = [] if arguments.sure else list(warnings(stored.vessel, made, others))
        if found:
            raise RefusedError(f"{' '.join(found)} Look, then say --sure.")
        at_ms = yard_time_ms(settings, fleet, otherwise_ms=round(made.laid_up.timestamp() * 1000))
        fleet.command(RecordVersion(made, at_ms, arguments.by))

    carry_out(settings, [asked], write)
    made = _checked(stored.vessel, move)
    print(f"{made.id}: {made.name}, {made.place}, {made.mode}")
    for bilge in watch_state(made).zeros:
        print(f"{bilge.name}: its zero is to be set anew; until then its level may be wrong")
    return 0


def _checked(record: Vessel, move: Move) -> Vessel:
    made = moved(record, move)
    try:
        return Vessel.model_validate(made.model_dump())
    except ValidationError as error:
        raise RefusedError("\n".join(mistakes(error, record.id))) from error
