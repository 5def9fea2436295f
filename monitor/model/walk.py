"""The order in which a yard is walked."""

import re

from monitor.model.vessel import Vessel

_NUMBERS = re.compile(r"(\d+)")


def walking_key(vessel: Vessel) -> tuple[bool, tuple[tuple[int, str], ...], str]:
    """Give what vessels are sorted by to be walked to: ashore first, then row by row as places are numbered.

    >>> from monitor.model.vessel import Vessel
    >>> sorted(["B10", "A2", "B9"], key=place_key)
    ['A2', 'B9', 'B10']
    """
    return vessel.berth is not None, place_key(vessel.berth or vessel.plot or ""), vessel.id


def place_key(place: str) -> tuple[tuple[int, str], ...]:
    """Give what plots, or berths, are sorted by: as they are numbered."""
    parts = _NUMBERS.split(place.casefold())
    return tuple((int(part), "") if part.isdecimal() else (-1, part.strip()) for part in parts if part.strip())
