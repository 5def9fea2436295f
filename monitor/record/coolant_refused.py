"""What the coolant sums refuse, and in which words."""

from math import ceil, isnan

from monitor.record.coolant_figures import at_most, degc_words
from monitor.record.coolant_limits import LIMITS
from monitor.science.freezing import MAX_MASS_PCT, Glycol, max_volume_pct

NEAT_PCT = 100.0
"""Concentrate as it is sold, where its label names no share."""


class CoolantRefusedError(ValueError):
    """What cannot be worked out, and why.

    Attributes:
        key: the figure that stands in the way.
        reason: why, and what to do.
    """

    def __init__(self, key: str, reason: str) -> None:
        super().__init__(reason)
        self.key = key
        self.reason = reason


def share(percent: float, key: str) -> None:
    """Refuse what is no share of a whole."""
    if not 0.0 <= percent <= NEAT_PCT:
        raise CoolantRefusedError(key, f"{percent:g} % is no share of a whole: write 0 to 100 %.")


def amount(litres: float, key: str) -> None:
    """Refuse what is no amount that a boat holds."""
    least, most = LIMITS["least"], LIMITS["most"]
    if not least <= litres <= most:
        reason = f"{litres:g} litres is outside {least:g} to {most:g}. Look at the unit."
        raise CoolantRefusedError(key, reason)


def below_nought(degc: float, key: str) -> None:
    """Refuse a freezing point above 0 degC, and what is no number."""
    if isnan(degc):
        raise CoolantRefusedError(key, "That is no number: write a temperature.")
    if degc > 0.0:
        raise CoolantRefusedError(
            key, f"A freezing point lies at or below 0 °C: write the minus, as in {degc_words(-degc)}."
        )


def strong_enough(fill_pct: float, needed: float, wanted_degc: float) -> None:
    """Refuse what is poured where it is weaker than what is needed."""
    share(fill_pct, "fill")
    if fill_pct < needed:
        raise CoolantRefusedError(
            "fill",
            f"At {fill_pct:g} % it is too weak: {degc_words(wanted_degc)} takes {at_most(needed)} by volume. "
            "Take a stronger one, or neat concentrate.",
        )


def too_strong(glycol: Glycol) -> str:
    """Say why nothing is reckoned past the tables."""
    return (
        f"The published tables of {glycol} end at {max_volume_pct(glycol):g} % by volume, which is {MAX_MASS_PCT:g} % "
        "by mass, and this is stronger. Stronger is not better: past 60 to 70 % a mixture protects less again, and "
        "neat glycol least. Thin it with water, and test it."
    )


def colder(coldest: float) -> str:
    """Say how far the tables go."""
    return f"The published tables are sure of nothing so cold: they end at {degc_words(ceil(coldest))}."
