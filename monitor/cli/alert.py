"""``coldberth alert``: what people do with alerts, for those who sit at a keyboard.

What is asked for takes the shapes of the API (`monitor.web.acts`), so that pages, API and this command cannot drift
apart; times are read by whoever carries it out, in the yard's own time.
"""

import argparse
from dataclasses import dataclass

from monitor.cli.alert_acts import REASONS, act_on_alert, say_aboard, say_ashore
from monitor.cli.alert_listed import list_alerts, show_alert
from monitor.cli.run import add_settings_to
from monitor.web.acts import (
    AcceptIn,
    AcknowledgeIn,
    AlertAct,
    BringBackIn,
    ConfirmIn,
    HandOverIn,
    ShelveIn,
    TakeOutIn,
)

UNTIL = "14:30 (yard time), +2h, or ISO 8601"


@dataclass(frozen=True, slots=True)
class Doing:
    """Something that can be done about an alert.

    Attributes:
        says: what it is, for help.
        act: its shape.
        needed: what must be given, each with its help.
        note: whether a note may be given.
    """

    says: str
    act: type[AlertAct]
    needed: tuple[tuple[str, str], ...] = ()
    note: bool = True


_DOINGS = {
    "acknowledge": Doing("say that you have seen it", AcknowledgeIn),
    "confirm": Doing("say that you were aboard, and what you found", ConfirmIn),
    "hand-over": Doing(
        "offer it to another, who has it once they accept it; anybody may, whoever has it",
        HandOverIn,
        (("to", "to whom: one of the settings' people, or her owner"),),
    ),
    "accept": Doing("take it: you have it from now on", AcceptIn),
    "shelve": Doing(
        "put it aside until a time: nobody is told of it", ShelveIn, (("reason", "why"), ("until", UNTIL)), note=False
    ),
    "bring-back": Doing("bring it back before its time", BringBackIn),
    "out-of-service": Doing("take it out of service; managers only", TakeOutIn, (("reason", "why"),), note=False),
}


def add_to(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add the command."""
    parser = commands.add_parser("alert", help="list alerts, and do something about them")
    actions = parser.add_subparsers(metavar="ACTION", required=True)
    listing = actions.add_parser("list", help="list the open alerts, worst first")
    listing.add_argument("--vessel", metavar="ID", help="of one vessel")
    listing.set_defaults(run=list_alerts)
    showing = actions.add_parser("show", help="show an alert and what happened to it")
    showing.add_argument("alert", help="its id, or how its id begins")
    showing.set_defaults(run=show_alert)
    for name, doing in _DOINGS.items():
        acting = actions.add_parser(name, help=doing.says)
        acting.add_argument("alert", help="its id, or how its id begins")
        for field, says in doing.needed:
            acting.add_argument(f"--{field}", required=True, help=says)
        if doing.note:
            acting.add_argument("--note", default="", help="what there is to say of it")
        if doing.act is ConfirmIn:
            acting.add_argument("--nothing-wrong", action="store_true", help="nothing of what it told was so")
        acting.set_defaults(run=act_on_alert, act=doing.act, action=name)
        _add_by(acting)
        add_settings_to(acting)
    aboard = actions.add_parser(
        "aboard", help="say what is done aboard a vessel: her alerts are put aside, but for water"
    )
    aboard.add_argument("vessel")
    aboard.add_argument("reason", choices=list(REASONS))
    aboard.add_argument("--until", required=True, help=f"{UNTIL}; at most four hours on")
    aboard.add_argument("--note", default="", help="what there is to say of it")
    aboard.set_defaults(run=say_aboard)
    ashore = actions.add_parser("ashore", help="say that what was done aboard is over")
    ashore.add_argument("vessel")
    ashore.set_defaults(run=say_ashore)
    for action in (aboard, ashore):
        _add_by(action)
    for action in (listing, showing, aboard, ashore):
        add_settings_to(action)


def _add_by(parser: argparse.ArgumentParser) -> None:
    says = "who does it: one of the settings' people by name, id, or how it begins; else a visitor"
    parser.add_argument("--by", required=True, metavar="NAME", help=says)
