"""How the link in a message stands: whether it asks, and in words who has what it told of."""

from collections.abc import Sequence
from dataclasses import dataclass

from monitor.model.alert import Alert
from monitor.web.clock import YardClock

_NOTHING_MORE = "Nothing more to do here: the yard knows. This is how it stands now."


@dataclass(frozen=True, slots=True)
class LinkStands:
    """What the page of a link says.

    Attributes:
        heading: what it asks, or how it is.
        lead: one sentence under it.
        button: what its button says; empty where nothing is asked.
    """

    heading: str
    lead: str
    button: str = ""


def offered(alerts: Sequence[Alert], reader: str) -> list[Alert]:
    """Give those that are handed to the reader of a message, who has not said yes yet."""
    return [
        alert
        for alert in alerts
        if alert.is_open and not alert.state.is_aside and (alert.offered_to or "").casefold() == reader.casefold()
    ]


def link_stands(
    alerts: Sequence[Alert],
    unseen: Sequence[Alert],
    reader: str,
    clock: YardClock,
    *,
    used: bool,
    handed_by: Sequence[str] = (),
) -> LinkStands:
    """Say how a link stands.

    Args:
        alerts: what the message told of.
        unseen: those of it that somebody still has to see.
        reader: whom the message was written to.
        clock: the yard's.
        used: whether the link was used before.
        handed_by: who hands any of it to the reader and waits for their yes.
    """
    if handed_by:
        return _handed(_and(handed_by), reader, used=used)
    if unseen and not used:
        return _asks(unseen)
    if unseen:
        lead = f"This link has been used, and works once. Nobody has seen {len(unseen)} of it: say so on her page."
        return LinkStands("Something of it waits", lead)
    return _answered([alert for alert in alerts if alert.is_open], reader, clock)


def _handed(by: str, reader: str, *, used: bool) -> LinkStands:
    if used:
        lead = "This link has been used, and works once. Say on her page that you have it: until then you do not."
        return LinkStands(f"{by} hands it to you", lead)
    lead = f"You have it once you say yes, {reader}. Nothing happens until you press the button."
    return LinkStands(f"{by} hands it to you: do you take it?", lead, "I have it")


def _and(names: Sequence[str]) -> str:
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def _asks(unseen: Sequence[Alert]) -> LinkStands:
    all_of_it = "" if len(unseen) == 1 else f" for all {len(unseen)}"
    if any(alert.returned_ms is None for alert in unseen):
        lead = (
            f"Say so{all_of_it}, and the yard knows that somebody is at it. Nothing happens until you press the button."
        )
        return LinkStands("Do you have it?", lead, "I have it")
    # What has cleared asks for nobody: that somebody knows of it is all.
    lead = (
        f"It has cleared. Say so{all_of_it}, and the yard knows that somebody has read it. Nothing happens until then."
    )
    return LinkStands("Have you seen it?", lead, "Seen")


def _answered(standing: Sequence[Alert], reader: str, clock: YardClock) -> LinkStands:
    if not standing:
        return LinkStands("It is over", "Nothing more to do here: what the message told of has ended.")
    waiting = [alert for alert in standing if not alert.state.is_aside]
    if not waiting:
        return LinkStands("It is put aside", "Nothing to do here: nobody is told of it meanwhile.")
    having: dict[str, int | None] = {}
    for alert in waiting:
        name = alert.has_it or alert.acknowledged_by
        if name is not None:
            having.setdefault(name, alert.acknowledged_ms)
    cleared = all(alert.returned_ms is not None for alert in waiting)
    if [name.casefold() for name in having] == [reader.casefold()]:
        done = "You have seen it" if cleared else "You have it"
        return LinkStands(done, _NOTHING_MORE)
    names = list(having)
    if len(names) == 1 and not cleared:
        since_ms = having[names[0]]
        since = "" if since_ms is None else f" since {clock.at(since_ms)}"
        return LinkStands(f"{names[0]} has it{since}", _NOTHING_MORE)
    verb = ("have seen it" if cleared else "have it") if len(names) > 1 else "has seen it"
    return LinkStands(f"{_and(names)} {verb}", _NOTHING_MORE)
