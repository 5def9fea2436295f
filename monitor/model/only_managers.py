"""What only a yard manager may ask for: to take an alert out of service, and to bring it back from there."""

from collections.abc import Callable

from monitor.model.alert import Alert
from monitor.model.inputs import BringBack, Command, TakeOut
from monitor.model.scale import AlertState


def refused_to(command: Command, alert: Alert | None, is_manager: Callable[[str], bool]) -> str | None:
    """Say in words why whoever gives a command may not; None where they may.

    Args:
        command: what they ask for.
        alert: the alert it is about, as it stands; None where it is about none.
        is_manager: says whether somebody of a name is one.
    """
    out = alert is not None and alert.state is AlertState.OUT_OF_SERVICE
    for_managers = isinstance(command, TakeOut) or (isinstance(command, BringBack) and out)
    if not for_managers or is_manager(command.actor):
        return None
    return (
        f"{command.actor} is no manager by the settings ([[people]] with roles = ['manager']):"
        " only one of those takes an alert out of service, or brings it back"
    )
