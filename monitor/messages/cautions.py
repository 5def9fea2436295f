"""The cautions of messages: advice only, and who to defer to; those that fit the boat and her trouble, each once."""

from collections.abc import Collection, Iterator
from functools import cache
from typing import TypedDict

from monitor.messages.phrases import FALLBACK_LANGUAGE, raw_words
from monitor.model.equipment import SystemState
from monitor.model.finding import Finding
from monitor.model.vessel import Vessel

GOING_ABOARD = "going aboard"
CONDITIONS = frozenset({GOING_ABOARD, "ashore", "afloat", "shore power", "coolant", "battery"})
"""What a caution can ask for."""


class _Caution(TypedDict, total=False):
    text: str
    about: str
    unless: list[str]


def cautions(
    rule: str = "",
    language: str = FALLBACK_LANGUAGE,
    *,
    so: Collection[str] = (),
    said: Collection[str] = (),
) -> tuple[str, ...]:
    """Give the cautions of a message, those of its rule first.

    Args:
        rule: the rule that it tells of, empty for none.
        language: of the words.
        so: what is so of the boat and her trouble, of `CONDITIONS`.
        said: codes of steps and warnings that stand in the message.
    """
    raw = _cautions(language)
    fitting = [c["text"] for c in (*raw.get(rule, ()), *raw[""]) if _fits(c, so) and not _is_said(c, said)]
    return tuple(dict.fromkeys(fitting))


def about(vessel: Vessel, finding: Finding) -> Iterator[str]:
    """Give what is so of a boat and her trouble, of `CONDITIONS`; whether somebody goes aboard is not hers to say."""
    yield "ashore" if vessel.berth is None else "afloat"
    if vessel.shore_power.on:
        yield "shore power"
    if any(s.id == finding.subject and s.state is SystemState.TREATED for s in vessel.liquid_systems):
        yield "coolant"
    if any(b.id == finding.subject for b in vessel.batteries):
        yield "battery"


def _fits(caution: _Caution, so: Collection[str]) -> bool:
    return "about" not in caution or caution["about"] in so


def _is_said(caution: _Caution, said: Collection[str]) -> bool:
    return any(code in said for code in caution.get("unless", ()))


@cache
def _cautions(language: str) -> dict[str, tuple[_Caution, ...]]:
    """Give the cautions of each rule; those of every message stand under no name."""
    raw = raw_words("cautions", language)
    return {rule: tuple(listed) for rule, listed in raw["rules"].items()} | {"": tuple(raw["always"])}
