"""``coldberth coolant``: the sums beside the coolant entry, in a terminal. It needs no journal."""

import argparse

from monitor.cli.trouble import RefusedError
from monitor.model.equipment import Tester
from monitor.record.coolant_answer import Answer, Question, Sum, answer
from monitor.record.coolant_figures import MINUS
from monitor.record.coolant_refused import NEAT_PCT, CoolantRefusedError
from monitor.record.coolant_says import BESIDE, CAUTIONS
from monitor.science.freezing import Glycol

_GLYCOLS = {glycol.name.lower(): glycol for glycol in Glycol}
_HELP = {
    "strength": "its strength, %% by volume",
    "tested": "its tested freezing point, degC",
    "poured": "strength of what is poured, %% by volume; neat concentrate is 100",
    "poured_l": "how much is poured, L",
    "left_l": "water that stayed in the system, L",
    "system_l": "what the system holds, or how much you want to have, L",
    "now": "what is in it: a strength, %% by volume, or with --now-tested its tested freezing point, degC",
    "wanted": "down to which cold it is wanted, degC",
    "fill": "strength of what is filled in, %% by volume (neat concentrate, 100)",
}


def add_to(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add the command."""
    parser = commands.add_parser("coolant", help="glycol and water: how cold, how strong, how much to replace or mix")
    sums = parser.add_subparsers(metavar="SUM", required=True)
    for which in Sum:
        asked = sums.add_parser(which.value, help=BESIDE[which].heading, description=BESIDE[which].heading)
        asked.add_argument("--glycol", choices=sorted(_GLYCOLS), required=True)
        for key in which.figures:
            neat = {"default": NEAT_PCT} if key == "fill" else {"required": True}
            asked.add_argument(_option(key), type=_figure, metavar="FIGURE", help=_HELP[key], **neat)
        if which is Sum.POINT:
            asked.add_argument("--mass", action="store_true", help="the strength is by mass, and not by volume")
        if which is Sum.REPLACE:
            asked.add_argument("--now-tested", action="store_true", help="--now is a tested freezing point")
        if which in {Sum.STRENGTH, Sum.REPLACE}:
            testers = [tester.value for tester in Tester]
            asked.add_argument("--tester", choices=testers, default=Tester.REFRACTOMETER.value)
        asked.set_defaults(run=run, sum=which)


def _figure(text: str) -> float:
    """Read a figure with a decimal point or comma."""
    try:
        return float(text.replace(",", ".").replace(MINUS, "-"))
    except ValueError as error:
        raise argparse.ArgumentTypeError(f"{text} is no number: write 12.5 or 12,5 alone, without a unit") from error


def run(arguments: argparse.Namespace) -> int:
    """Work it out, and print it."""
    which: Sum = arguments.sum
    question = Question(
        which,
        _GLYCOLS[arguments.glycol],
        {key: getattr(arguments, key) for key in which.figures},
        by_mass=getattr(arguments, "mass", False),
        now_tested=getattr(arguments, "now_tested", False),
        tester=Tester(getattr(arguments, "tester", Tester.REFRACTOMETER.value)),
    )
    try:
        found = answer(question)
    except CoolantRefusedError as refused:
        raise RefusedError(f"{_option(refused.key)}: {refused.reason}") from refused
    print("\n".join(_printed(which, found)))
    return 0


def _printed(which: Sum, found: Answer) -> list[str]:
    wide = max(len(label) for label, _ in found.rows)
    beside = BESIDE[which]
    return [
        found.headline,
        *(f"  {label:<{wide}}  {text}" for label, text in found.rows),
        found.then,
        "",
        f"Formula: {beside.formula}",
        f"Sources: {beside.source}.",
        "",
        *(text for text, _ in CAUTIONS),
    ]


def _option(key: str) -> str:
    return f"--{key.replace('_', '-')}"
