"""``coldberth gate``: a vessel's spring list, and whether anything that was found holds her up."""

import argparse
from zoneinfo import ZoneInfo

from monitor.cli.alert_listed import opened, yard_clock
from monitor.cli.run import add_settings_to, settings_from
from monitor.cli.trouble import TroubleError
from monitor.record.gate import Gate
from monitor.record.gate_item import Stage
from monitor.record.gate_now import read_gate
from monitor.record.gate_says import heading, slings_words, standing, state_word, verdict
from monitor.web.clock import YardClock
from monitor.web.gate_shapes import GateOut

EXIT_NOT_READY = 1


def add_to(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add the command."""
    parser = commands.add_parser(
        "gate",
        help="print a vessel's spring list, and whether she is ready to lift",
        epilog="Ends with 0 where nothing that was found holds her up, with 1 where something does, "
        "with 2 where it cannot be told.",
    )
    parser.add_argument("vessel")
    parser.add_argument("--json", action="store_true", help="as data, as the API gives it")
    add_settings_to(parser)
    parser.set_defaults(run=print_gate)


def print_gate(arguments: argparse.Namespace) -> int:
    """Print the list; it only reads: what is done is said on the pages or by the API, with a name."""
    settings = settings_from(arguments.settings)
    with opened(settings) as view:
        clock = yard_clock(settings, view)
        gate = read_gate(arguments.vessel, view, view, view, clock.now_ms, ZoneInfo(settings.yard.zone))
        if gate is None:
            raise TroubleError(f"no vessel {arguments.vessel!r} in this journal; coldberth vessel list names them")
    if arguments.json:
        print(GateOut.of(gate, clock.whole).model_dump_json(indent=2))
    else:
        _print(gate, clock)
    return 0 if gate.is_ready else EXIT_NOT_READY


def _print(gate: Gate, clock: YardClock) -> None:
    print(f"{gate.record.name}, {gate.record.place}. {verdict(gate)}.")
    for stage in Stage:
        items = gate.of(stage)
        if items:
            print(f"{heading(gate, stage)}:")
        if stage is Stage.SLINGS and gate.dryness is not None:
            print(f"  {slings_words(gate.dryness, clock.at)}.")
        for item in items:
            box = "x" if item.is_closed else " " if item.stands_open else "-"
            print(f"  [{box}] {item.id}: {item.what}")
            said = ". ".join(part for part in (state_word(item), standing(item, clock.at), item.why) if part)
            print(f"      {said}{f', alert {item.alert}' if item.alert else ''}")
