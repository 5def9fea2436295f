"""What does not fit how an alert stands, refused alike on the pages, in the API and on the command line."""

from dataclasses import dataclass

from monitor.model.alert import Alert
from monitor.model.inputs import Accept, AlertCommand, Confirm, EndSuppression, Suppress, VesselCommand
from monitor.model.named import is_stranger
from monitor.model.roster import Roster
from monitor.model.vessel import Person
from monitor.record.contradict import needs_words

STANDS_ON = "It stands on: what was heard last says that it is still so."


@dataclass(frozen=True, slots=True)
class Unfit:
    """Why something does not fit.

    Attributes:
        reason: why, one sentence without its stop.
        key: the field in which it can be put right; empty where it cannot be.
    """

    reason: str
    key: str = ""


def unfit(command: AlertCommand, alert: Alert) -> Unfit | None:
    """Say why something that somebody wants to do does not fit how an alert stands; None where it does.

    Args:
        command: what they want, with everybody called as the settings have them.
        alert: as it stands.
    """
    if isinstance(command, Confirm) and command.nothing_wrong and not command.note.strip() and needs_words(alert):
        reason = (
            "it still stands, and you say that nothing of it was so: write what you saw and where you looked, since the"
            " next person has only these words. It stands on until readings say otherwise"
        )
        return Unfit(reason, "note")
    if isinstance(command, Accept) and not alert.state.is_aside and alert.offered_to is None:
        has_it = alert.has_it or ""
        if alert.acknowledged_ms is not None and has_it.casefold() == command.actor.casefold():
            return Unfit(f"{has_it} has it already: nothing is changed")
    return None


def unfit_aboard(command: VesselCommand, aboard: Suppress | None, roster: Roster, owner: Person | None) -> Unfit | None:
    """Say why somebody may not say that what is done aboard is over; None where they may.

    A name that is a slip of the pen must not end what keeps alerts quiet for people who are aboard: it is one of the
    settings' people, or whoever said that it began.

    Args:
        command: what they want, with whoever it is called as the settings have them.
        aboard: what is done aboard now, None where nothing.
        roster: the yard's people.
        owner: hers.
    """
    if not isinstance(command, EndSuppression) or aboard is None:
        return None
    began_it = command.actor.casefold() == aboard.actor.casefold()
    if began_it or not is_stranger(command.actor, roster, owner):
        return None
    names = ", ".join(person.name for person in roster.everybody())
    reason = (
        f"{command.actor} is not one of the settings' people, and {aboard.actor} said that it began: give one of"
        f" {names}, or {aboard.actor}"
    )
    return Unfit(reason, "name")


def has_it_on(alert: Alert) -> str:
    """Say who has an alert that stands on; empty where nobody has.

    Whoever looked into it aboard knows most of it, even where they found nothing: it is theirs until it clears or they
    hand it over, as all is that somebody has seen. Else nobody would be told of it any more, and nobody would have it.
    """
    return "" if alert.has_it is None else f"{alert.has_it} has it until it clears or is handed over."


def stands_on(command: object, alert: Alert) -> bool:
    """Say whether an alert goes on although somebody was aboard and found nothing of it."""
    return isinstance(command, Confirm) and command.nothing_wrong and alert.is_open and alert.returned_ms is None
