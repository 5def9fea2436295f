"""``coldberth run``: the agent of one yard."""

import argparse
import logging
import sqlite3
from pathlib import Path

from monitor.agent import Agent
from monitor.cli.trouble import TroubleError
from monitor.settings import Settings, SettingsError, read_settings
from monitor.store.lock import JournalBusyError
from monitor.store.migrate import JournalTooNewError
from monitor.store.secret import SecretFileError


def add_settings_to(parser: argparse.ArgumentParser) -> None:
    """Add the option that names the settings file."""
    parser.add_argument(
        "--settings", type=Path, required=True, metavar="FILE", help="settings file (TOML); see deploy/settings.toml"
    )


def add_to(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add the command."""
    parser = commands.add_parser("run", help="run the agent of a yard until it is told to stop")
    add_settings_to(parser)
    parser.add_argument("--log", default="info", choices=["debug", "info", "warning", "error"], help="how much to log")
    parser.set_defaults(run=run)


def settings_from(path: Path) -> Settings:
    """Read settings, or say what is wrong with them."""
    try:
        return read_settings(path)
    except SettingsError as error:
        raise TroubleError(str(error)) from error


def run(arguments: argparse.Namespace) -> int:
    """Run the command: until SIGTERM or SIGINT, or until a part of the agent has died."""
    logging.basicConfig(level=arguments.log.upper(), format="%(asctime)s %(levelname)s %(name)s: %(message)s")
    settings = settings_from(arguments.settings)
    try:
        agent = Agent(settings, arguments.settings)
    except (JournalBusyError, JournalTooNewError, SecretFileError) as error:
        raise TroubleError(str(error)) from error
    except OSError as error:
        raise TroubleError(f"the agent cannot start: {error}") from error
    except sqlite3.Error as error:
        raise TroubleError(f"{settings.journal.path}: the journal cannot be opened: {error}") from error
    if settings.mail is None:
        logging.getLogger(__name__).warning(
            "no [mail] in the settings: nobody is mailed, alerts show on the pages only"
        )
    return agent.run()
