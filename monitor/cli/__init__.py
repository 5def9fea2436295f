"""The ``coldberth`` command. Each subcommand is a file of its own."""

import argparse
import sys
from collections.abc import Sequence
from importlib.metadata import version

from monitor.cli import (
    account,
    alert,
    backup,
    check,
    coolant,
    demo,
    device,
    export,
    gate,
    incident,
    publish,
    replay,
    report,
    restore,
    run,
    score,
    vessel,
    work,
)
from monitor.cli.plain_output import plain_output, shown
from monitor.cli.stopping import EXIT_INTERRUPTED
from monitor.cli.trouble import EXIT_TROUBLE, TroubleError
from monitor.model.document import DocumentError


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line.

    Returns:
        0 where all went well, 1 where what was asked was understood and refused, 2 where it could not be done; both are
        said in words on standard error.
    """
    try:
        arguments = _parser().parse_args(argv)
        with plain_output(sys.stdout):
            return int(arguments.run(arguments))
    except TroubleError as trouble:
        print(shown(str(trouble)), file=sys.stderr)
        return trouble.exit_status
    except DocumentError as error:  # found while the work was under way, such as a bad row of a weather file
        print(shown(str(error)), file=sys.stderr)
        return EXIT_TROUBLE
    except KeyboardInterrupt:
        print("stopped", file=sys.stderr)
        return EXIT_INTERRUPTED
    except BrokenPipeError:  # whoever read our output has heard enough
        sys.stderr.close()
        return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="coldberth",
        description="Watches boats that are laid up for the winter, and tells owner and yard in time.",
        epilog="Advisory only: it replaces no visit, no insurer's condition and no alarm on board.",
    )
    parser.add_argument("--version", action="version", version=f"coldberth {version('coldberth')}")
    commands = parser.add_subparsers(metavar="COMMAND", required=True)
    proofs = (report, incident, export)
    yard = (run, vessel, work, gate, alert, account, device, backup, restore, check)
    for command in (demo, *yard, *proofs, coolant, replay, publish, score):
        command.add_to(commands)
    return parser
