"""A vessel's card as pages show it: what her owner does not want stands first, and stands out."""

from typing import NamedTuple

from monitor.messages.card import FIELDS
from monitor.model.vessel import Card
from monitor.web.round_words import said

_STANDS_OUT = "refusals"


class CardLine(NamedTuple):
    """One line of a card."""

    label: str
    text: str
    stands_out: bool = False


def card_lines(card: Card) -> list[CardLine]:
    """Give the lines that somebody filled."""
    texts = card.model_dump()
    return [
        CardLine(said("card", field), texts[field], field == _STANDS_OUT) for field in FIELDS if texts[field].strip()
    ]
