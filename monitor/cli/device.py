"""``coldberth device``: who may speak at the broker, and about what."""

import argparse
from pathlib import Path

from monitor.cli.run import add_settings_to, settings_from
from monitor.cli.trouble import RefusedError, TroubleError
from monitor.intake.broker_files import ACCESS, PASSWORDS, put_in, take_out
from monitor.intake.credentials import Credential, agent_credential, device_credential
from monitor.intake.topics import Topics
from monitor.notify.retained import ROOT as ALERTS
from monitor.settings import Settings
from monitor.store.view import JournalView

_SLUG = frozenset("abcdefghijklmnopqrstuvwxyz0123456789-")


def add_to(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add the command."""
    parser = commands.add_parser("device", help="make and take back what lets a device speak at the broker")
    actions = parser.add_subparsers(metavar="ACTION", required=True)
    adding = actions.add_parser("add", help="make a device's credential: it may publish under its own vessel alone")
    adding.add_argument("vessel")
    adding.add_argument("--device", default="gateway", metavar="NAME", help="which of her devices; by default gateway")
    adding.set_defaults(run=add)
    agent = actions.add_parser("agent", help="make the agent's own credential")
    agent.set_defaults(run=add_agent)
    removing = actions.add_parser("remove", help="take a credential back")
    removing.add_argument("user", help="as it was printed, such as tern.gateway")
    removing.set_defaults(run=remove)
    for action in (adding, agent, removing):
        action.add_argument(
            "--into",
            type=Path,
            metavar="FOLDER",
            required=action is removing,
            help=f"folder of the broker's files {PASSWORDS} and {ACCESS}; without it the lines are printed",
        )
        add_settings_to(action)


def add(arguments: argparse.Namespace) -> int:
    """Make a device's credential."""
    settings = settings_from(arguments.settings)
    if not arguments.device or not set(arguments.device) <= _SLUG:
        raise TroubleError(f"--device {arguments.device!r}: use small letters, digits and hyphens")
    path = settings.journal.path
    if not path.exists() or JournalView(path).record(arguments.vessel) is None:
        raise RefusedError(f"no vessel {arguments.vessel!r} in this journal; coldberth vessel list names them")
    made = device_credential(settings.yard.id, arguments.vessel, arguments.device)
    _hand_out(made, arguments.into)
    ca = f" --cafile {settings.broker.ca_file}" if settings.broker.ca_file is not None else ""
    print("its readings, for example:")
    print(
        f"mosquitto_pub -h {settings.broker.host} -p {settings.broker.port}{ca} -u {made.user} -P {made.password} -q 1"
        f" -t {Topics(settings.yard.id).bare(arguments.vessel, 'SENSOR')} -m 4.2"
    )
    return 0


def add_agent(arguments: argparse.Namespace) -> int:
    """Make the agent's credential."""
    settings = settings_from(arguments.settings)
    made = agent_credential(settings.yard.id, ALERTS, _sources(settings))
    _hand_out(made, arguments.into)
    print(f'in the settings: [broker] username = "{made.user}"; its password into COLDBERTH_BROKER__PASSWORD')
    return 0


def remove(arguments: argparse.Namespace) -> int:
    """Take a credential back."""
    try:
        found = take_out(arguments.into, arguments.user)
    except OSError as error:
        raise TroubleError(f"{arguments.into}: cannot be written: {error}") from error
    if not found:
        raise RefusedError(f"{arguments.into} has no user {arguments.user!r}")
    print(f"{arguments.user} is taken out. Restart the broker: a reload does not end a connection that is open.")
    return 0


def _sources(settings: Settings) -> list[str]:
    own = Topics(settings.yard.id)
    return [source.topic for source in settings.sources if not own.covers(source.topic)]


def _hand_out(made: Credential, folder: Path | None) -> None:
    print(f"user:     {made.user}")
    print(f"password: {made.password}   (it is shown this once)")
    if folder is None:
        print(f"for the broker's file {PASSWORDS}:\n  {made.password_line}")
        print(f"for its file {ACCESS}:\n" + "\n".join(f"  {line}" for line in made.access_lines))
    else:
        try:
            put_in(folder, made)
        except (OSError, UnicodeDecodeError) as error:
            raise TroubleError(f"{folder}: cannot be written: {error}") from error
        print(f"written to {folder / PASSWORDS} and {folder / ACCESS}")
        print("have the broker read them: systemctl reload mosquitto")
