"""Whether what comes out of a coolant sum covers the cold a boat has met this winter, as far as anything tells."""

from dataclasses import dataclass

from monitor.record.coolant_figures import degc_words, degrees, tenth_degc
from monitor.rules.frost_limits import LIMITS


@dataclass(frozen=True, slots=True)
class Cold:
    """The coldest that is known of at a boat.

    Attributes:
        heard_degc: the lowest believable reading since her lay-up, None where none was heard.
        own: whether it is of the system's own thermometer, and not of the air outside.
        error_k: that thermometer's error, K.
        foretold_degc: the low end of what a standing frost alert of this system foretells, None where none stands.
    """

    heard_degc: float | None
    own: bool = True
    error_k: float = 0.0
    foretold_degc: float | None = None


@dataclass(frozen=True, slots=True)
class Cover:
    """What it comes to: a sentence, how many degrees are left (None where nothing is known), and on what it rests."""

    says: str
    room_k: float | None
    rests_on: tuple[str, ...]


NOT_KNOWN_YET = "How cold the rest of the winter gets is not known."


def cover(protected_degc: float, cold: Cold) -> Cover:
    """Hold what a mixture is counted on for against the coldest that is known of."""
    known = [
        *(() if cold.heard_degc is None else (cold.heard_degc - cold.error_k,)),
        *(() if cold.foretold_degc is None else (cold.foretold_degc,)),
    ]
    rests_on = tuple(_rests_on(cold))
    if not known:
        says = "Nothing was heard of how cold it gets there: this sum cannot say whether that is enough."
        return Cover(says, None, (*rests_on, NOT_KNOWN_YET))
    room_k = min(known) - protected_degc
    return Cover(_says(protected_degc, room_k), room_k, (*rests_on, NOT_KNOWN_YET))


def _says(protected_degc: float, room_k: float) -> str:
    counted = degc_words(protected_degc)
    if room_k <= 0.0:
        short = degrees(abs(round(room_k, 1)))
        return f"Not enough: {counted} falls short of the coldest that is known of, by {short}."
    wanted_k = LIMITS["margin_caution"]
    if room_k < wanted_k:
        return (
            f"Too little room: {counted} covers the coldest that is known of by only {degrees(round(room_k, 1))}; "
            f"leave {degrees(wanted_k)}."
        )
    return f"{counted} covers the coldest that is known of by {degrees(round(room_k, 1))}."


def _rests_on(cold: Cold) -> list[str]:
    found = []
    if cold.heard_degc is not None:
        by = "its own thermometer" if cold.own else "the air outside, which stands in for a thermometer of its own"
        error = f", which errs by up to {degrees(cold.error_k)}" if cold.error_k else ""
        found.append(f"Lowest since lay-up {tenth_degc(cold.heard_degc)} by {by}{error}.")
    if cold.foretold_degc is not None:
        found.append(f"Foretold {tenth_degc(cold.foretold_degc)} at the low end, by the frost alert that stands.")
    return found
