"""What all messages of a yard share: who they come from, and where what they speak of can be found."""

from collections.abc import Callable
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from monitor.messages.phrases import FALLBACK_LANGUAGE
from monitor.model.alert import Alert
from monitor.model.vessel import Vessel


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture to go with a message.

    Attributes:
        png: the picture, as PNG.
        says: what it shows, in words: for who cannot see it.
        name: what it is, in a word or two, where the words stand beside it.
    """

    png: bytes
    says: str
    name: str = ""


def _no_address(_: str) -> str | None:
    return None


def _no_picture(_vessel: Vessel, _alert: Alert, _now_ms: int) -> Picture | None:
    return None


@dataclass(frozen=True, slots=True)
class Letterhead:
    """What all messages of a yard share.

    Attributes:
        sender: address they come from.
        name: the yard's name beside it.
        page: gives the address of a vessel's page from her id; None where whoever reads elsewhere could not open it.
        zone: the yard's time zone.
        language: language of what goes to somebody whose language is not known.
        call_page: gives the address of a call's page from its id (from an empty one, that of the list of all); None
            where there is none.
        acknowledge: gives the signed link by which the reader of a notice says that they have seen it, from the
            notice's id; None where links are not offered.
        picture: draws the last days of what an alert rests on, up to a time (ms UTC); None where there is nothing to
            draw.
    """

    sender: str
    name: str
    page: Callable[[str], str | None]
    zone: ZoneInfo
    language: str = FALLBACK_LANGUAGE
    call_page: Callable[[str], str | None] = _no_address
    acknowledge: Callable[[str], str | None] = _no_address
    picture: Callable[[Vessel, Alert, int], Picture | None] = _no_picture
