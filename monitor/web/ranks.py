"""The few words in which the yard's state is told, worst first: each with its shape and its number."""

from enum import IntEnum

from monitor.model.alert import Alert
from monitor.model.scale import Priority
from monitor.model.urgency import SILENCE, pressing


class Rank(IntEnum):
    """How a vessel or an alert stands, the worst lowest. Colour is only ever the fourth sign beside these three."""

    ACT_NOW = 0
    SOON = 1
    NO_DATA = 2
    THIS_WEEK = 3
    CLEARED = 4
    QUIET = 5

    @property
    def word(self) -> str:
        """The word on the page."""
        return _WORDS[self]

    @property
    def slug(self) -> str:
        """Its name in addresses and style sheets."""
        return self.name.lower().replace("_", "-")

    @property
    def sign(self) -> str:
        """What stands in the shape."""
        return _SIGNS[self]


_WORDS = {
    Rank.ACT_NOW: "Act now",
    Rank.SOON: "Soon",
    Rank.NO_DATA: "No data",
    Rank.THIS_WEEK: "This week",
    Rank.CLEARED: "Cleared, not seen",
    Rank.QUIET: "Quiet",
}
_SIGNS = {
    Rank.ACT_NOW: "1",
    Rank.SOON: "2",
    Rank.NO_DATA: "?",
    Rank.THIS_WEEK: "3",
    Rank.CLEARED: "4",
    Rank.QUIET: "",
}


def rank_of(alert: Alert) -> Rank:
    """Say how an open alert stands.

    Silence is *no data*, unless it is so urgent that somebody must go at once. One that has cleared and still waits for
    somebody to go aboard is work for this week, and soon where it was an alarm: nobody knows what it left behind. One
    that is put aside counts for nothing.
    """
    if alert.state.is_aside:
        return Rank.QUIET
    if alert.returned_ms is not None:
        if not waits_for_visit(alert):
            return Rank.CLEARED
        return Rank.SOON if alert.highest is Priority.ALARM else Rank.THIS_WEEK
    if alert.priority is Priority.ALARM:
        return Rank.ACT_NOW
    if alert.rule == SILENCE:
        return Rank.NO_DATA
    return Rank.SOON if alert.priority is Priority.WARNING else Rank.THIS_WEEK


def waits_for_visit(alert: Alert) -> bool:
    """Say whether an alert has cleared, and stays until somebody who was aboard has confirmed it."""
    return alert.is_open and alert.latching and alert.returned_ms is not None and alert.confirmed_ms is None


def urgency(alert: Alert) -> tuple[int, tuple[int, bool, bool, float], bool, int, str]:
    """Give the order in which alerts are looked at: what stands as it presses, then unseen first, then oldest first.

    What has cleared and waits for a visit comes as a caution does, or as a warning where it was an alarm; what has
    cleared else, and what is put aside, come after all that stands.
    """
    waits = waits_for_visit(alert)
    waiting = Priority.WARNING if alert.highest is Priority.ALARM else Priority.CAUTION
    harm = alert.finding.harm if alert.returned_ms is None else None
    return (
        2 if alert.state.is_aside else int(alert.returned_ms is not None and not waits),
        pressing(
            waiting if waits else alert.priority,
            water=alert.finding.always_told and not waits,
            silence=alert.rule == SILENCE,
            harm=None if harm is None else harm.low_s,
        ),
        alert.acknowledged_ms is not None,
        alert.opened_ms,
        alert.id,
    )
