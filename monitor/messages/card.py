"""What is written on a vessel's card, for whoever goes to her."""

from monitor.messages.desk import Desk
from monitor.messages.plain import one_line
from monitor.model.vessel import Vessel

# What her owner does not want stands before whatever leads aboard.
FIELDS = (
    "refusals",
    "keys",
    "ladder",
    "isolator",
    "pump_switch",
    "gas",
    "shore_post",
    "contacts",
    "instructions",
    "policy",
)


def card(desk: Desk, vessel: Vessel) -> tuple[tuple[str, str], ...]:
    """Give the lines of a card that somebody filled, as (label, value)."""
    written = ((name, one_line(getattr(vessel.card, name), 500)) for name in FIELDS)
    return tuple((desk.say("card", name), value) for name, value in written if value)
