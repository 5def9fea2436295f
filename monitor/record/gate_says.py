"""The launch gate in words, the same on the page, in the API and in a terminal."""

from collections.abc import Callable

from monitor.model.gate import LIMITS, SIGHTINGS
from monitor.record.checks import is_afloat
from monitor.record.gate import Gate
from monitor.record.gate_dry import Dry, Dryness
from monitor.record.gate_item import GateItem, Said, Stage

HEADINGS = {
    Stage.LIFT: "Before the lift",
    Stage.SLINGS: "In the slings",
    Stage.FIRST_START: "First start",
    Stage.FIRST_HOUR: "First hour",
    Stage.NEXT_DAY: "Next day",
}
AFLOAT_HEADING = "Before she goes"

_OURS = "common practice, no source"
CAUTIONS = (
    ("Nobody stands, works or reaches under a boat that hangs in slings.", _OURS),
    ("The slings stay on until she has been dry for ten minutes; then look once more before they go.", _OURS),
    ("The engine maker's book goes first: this list is a starting point, and no maker's procedure.", _OURS),
    ("An opening in the hull is seen closed by two people who look for themselves, with a hand on it.", _OURS),
    ("Never charge or start a battery that may be frozen.", _OURS),
)
"""What to keep to, each with its source."""

Spell = Callable[[int], str]
"""Writes a time (ms UTC) for people."""


def heading(gate: Gate, stage: Stage) -> str:
    """Name a stage, as it is for her."""
    return AFLOAT_HEADING if stage is Stage.LIFT and is_afloat(gate.record) else HEADINGS[stage]


def verdict(gate: Gate) -> str:
    """Say whether she may be lifted, as far as anything was found."""
    lifted = not is_afloat(gate.record)
    due = len(gate.due_before_lift)
    if due:
        things = "1 thing is" if due == 1 else f"{due} things are"
        return f"Not ready: {things} due before {'lift' if lifted else 'she goes'}"
    over = len(gate.overridden)
    said = f"Ready to {'lift' if lifted else 'go'}: nothing that was found stands open"
    return f"{said}, and {over} {'was' if over == 1 else 'were'} overridden" if over else said


def slings_words(dry: Dryness, spell: Spell) -> str:
    """Say how it stands with the minutes in the slings."""
    if dry.slings is None:
        return "Nobody has said yet that she is in the slings"
    since = f"In the slings since {spell(dry.slings.at_ms)}, by {dry.slings.actor}"
    minutes = f"{LIMITS['dry_in_slings']:.0f} minutes"
    if dry.how is Dry.WATER:
        level = "is up" if dry.rose_mm is None else f"stands {dry.rose_mm:.0f} mm above where it began"
        return (
            f"{since}. Water: {dry.sensor} {level}. The slings stay on; lift her out, or find and stop it, "
            "then say anew that she is in the slings"
        )
    at = "" if dry.at_ms is None else spell(dry.at_ms)
    if dry.how is Dry.BY_SENSORS:
        return f"{since}. Dry for {minutes} by her bilge sensors, {at}: no level rose, no float went up"
    if dry.person is not None and dry.person.from_ms is not None:
        began = spell(dry.person.from_ms)
        return f"{since}. Dry, by {dry.person.actor} who looked from {began} to {at}; not by her sensors"
    if not dry.has_sensors:
        by = "She has no bilge sensor: a person looks, and says so"
    elif dry.unwatched:
        by = f"No sensor sees into {' and '.join(dry.unwatched)}: a person looks there, and says so"
    elif dry.unheard:
        by = f"Not heard since: {', '.join(dry.unheard)}; else a person looks, and says so"
    else:
        by = "Her bilge sensors have said nothing of water, and have not been heard over so long without doubt yet"
    return f"{since}. Not dry for {minutes} yet: the slings stay on. {by}"


def state_word(item: GateItem) -> str:
    """Say how an item stands, in a word."""
    return "Closed" if item.is_closed else "Open" if item.stands_open else "Overridden"


def standing(item: GateItem, spell: Spell) -> str:
    """Say who did what of an item when, to follow how it stands (`state_word`); empty where nobody did anything."""
    if item.is_hull:
        seen = ", ".join(_by(said, spell) for said in item.sighted)
        if item.is_closed:
            return f"Seen closed by {seen}"
        left = SIGHTINGS - len(item.sighted)
        more = "another person has" if item.sighted else f"{left} different people have"
        return (f"Seen closed by {seen}; " if seen else "") + f"{more} to sight it"
    if item.done is not None:
        return f"Done by {_by(item.done, spell)}"
    return "" if item.override is None else f"By {_by(item.override, spell)}"


def _by(said: Said, spell: Spell) -> str:
    when = "" if said.at_ms is None else f", {spell(said.at_ms)}"
    return f"{said.by}{when}" + (f" ({said.note})" if said.note else "")
