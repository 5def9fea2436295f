"""What people say at the launch gate, and what nobody can say there: an opening in the hull is never overridden."""

from dataclasses import dataclass
from enum import StrEnum

from monitor.model.limits import Limit, Limits

HULL = "hull-"
"""What the ids of openings in the hull begin with."""

SLINGS_DRY = "slings-dry"
"""The item of the ten minutes in the slings."""

MINUTE_MS = 60_000

LIMITS = Limits(
    Limit(
        "dry_in_slings",
        10.0,
        "min",
        "common practice, no source",
        "a weeping skin fitting shows within minutes of floating",
        "keep the slings on until she has been dry so long",
    ),
    Limit(
        "sightings",
        2.0,
        "people",
        "common practice, no source",
        "one pair of eyes forgets a bung once in its life",
        "have another person look",
    ),
    Limit(
        "season",
        183.0,
        "d",
        "common practice, no source",
        "what falls due while she is out is seen to before she goes",
        "service or renew it",
    ),
)
DRY_MS = round(LIMITS["dry_in_slings"] * MINUTE_MS)
SIGHTINGS = round(LIMITS["sightings"])
SEASON_DAYS = round(LIMITS["season"])
"""So long she is out: what falls due in it is on the spring list."""


class GateAct(StrEnum):
    """What somebody says at the gate."""

    DONE = "done"
    REOPEN = "reopen"
    OVERRIDE = "override"
    SIGHT = "sight"
    """I saw with my own eyes that this opening is closed."""
    IN_SLINGS = "in the slings"
    """She floats, and the slings are still on."""
    DRY = "dry"
    """I looked into her bilges from a time on until now, and she stayed dry."""


OF_AN_ITEM = frozenset({GateAct.DONE, GateAct.REOPEN, GateAct.OVERRIDE, GateAct.SIGHT})


@dataclass(frozen=True, slots=True)
class GateWord:
    """Somebody says something at a vessel's launch gate; nothing said is ever changed, only followed by more.

    Attributes:
        vessel: which.
        at_ms: event time.
        actor: who, by name.
        act: what they say.
        item: of which item of the spring list; empty where of none.
        note: what there is to say of it; the reason where something is overridden.
        from_ms: event time from which on they looked, where they say that she is dry.
    """

    vessel: str
    at_ms: int
    actor: str
    act: GateAct
    item: str = ""
    note: str = ""
    from_ms: int | None = None


def is_hull_opening(item: str) -> bool:
    """Say whether an item is an opening in the hull.

    >>> is_hull_opening("hull-bung"), is_hull_opening("tag-7")
    (True, False)
    """
    return item.startswith(HULL)


def gate_refusal(word: GateWord) -> str:
    """Say why nobody can say this, whoever they are and whatever is on the list; empty where they can."""
    if not any(sign.isalnum() for sign in word.actor):  # signs that cannot be seen name nobody
        return "nobody is named who says it: give a name"
    if (word.act in OF_AN_ITEM) != bool(word.item):
        return "it must be about one item of the list" if word.act in OF_AN_ITEM else "it is about no item of the list"
    return _of_dry(word) if word.act is GateAct.DRY else _of_item(word)


def _of_dry(word: GateWord) -> str:
    if word.from_ms is not None and word.at_ms - word.from_ms >= DRY_MS:
        return ""
    return f"she must have been looked at for {LIMITS['dry_in_slings']:.0f} minutes: say from when on"


def _of_item(word: GateWord) -> str:
    hull, slings, act = is_hull_opening(word.item), word.item == SLINGS_DRY, word.act
    refusals = (
        (act is GateAct.OVERRIDE and (hull or slings), "an opening in the hull and the slings cannot be overridden"),
        (act is GateAct.OVERRIDE and not word.note.strip(), "overriding needs a reason: write it down"),
        (act is GateAct.SIGHT and not hull, "this is no opening in the hull: say that it is done"),
        (act is GateAct.DONE and hull, "this is an opening in the hull: two different people sight it closed"),
        (slings, "say that she is in the slings, or that she is dry"),
    )
    return next((words for so, words in refusals if so), "")
