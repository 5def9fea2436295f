"""The openings in her hull of a winter. An opening stays on the list until two people saw it closed.

It is found in every version of the winter's record: a record that is put right says that somebody wrote so, and not
that two people looked.
"""

import re
from collections.abc import Iterator, Sequence

from monitor.model.gate import HULL
from monitor.model.vessel import Mode
from monitor.model.views import StoredRecord
from monitor.record.gate_item import GateItem, Stage
from monitor.record.gate_jobs import left_by
from monitor.record.gate_lasting import Wanted, lasting

_GONE = r"(?:is |are |was |were )?(?:out|off|drawn|removed|open)"
_OPENINGS = re.compile(
    r"\b(bungs?|drain plugs?|hull plugs?|hoses?|sea[- ]?cocks?|skin fittings?|through[- ]hulls?|thru[- ]hulls?"
    r"|garboards?|transducers?|(?:echo|depth)[- ]?sounders?|strainers?|bellows|stuffing box(?:es)?"
    rf"|log {_GONE}|(?:paddle ?wheel|speed) logs?|log impellers?|rudder (?:stock )?{_GONE}"
    rf"|stern (?:gland|tube|seal)|shaft seals?|packing|shaft {_GONE}|(?:sail|stern)[- ]?drive {_GONE})\b",
    re.IGNORECASE,
)
"""Words of an open item that make it an opening though nobody marked it as one: better two people too many."""


def openings(versions: Sequence[StoredRecord]) -> Iterator[GateItem]:
    """Give every opening that stood in any version of a winter's record.

    Args:
        versions: the winter's, oldest first.
    """
    yield from lasting(versions, _of, lambda _item, _valid: True)


def opens_the_hull(what: str) -> bool:
    """Say whether the words of an open item are about an opening in the hull.

    >>> opens_the_hull("Log is out, blank fitted"), opens_the_hull("Logbook is ashore")
    (True, False)
    >>> opens_the_hull("Strainer lid is off"), opens_the_hull("Sea cock greased, open"), opens_the_hull("Sails ashore")
    (True, True, False)
    """
    return _OPENINGS.search(what) is not None


def _of(stored: StoredRecord) -> Iterator[Wanted]:
    record = stored.vessel
    by = f"record, version {stored.version}, by {stored.actor}"

    def opening(key: str, what: str, why: str, *, opened: bool = True) -> Wanted:
        return Wanted(GateItem(f"{HULL}{key}", what, Stage.LIFT, f"{why} ({by})"), opened)

    if record.mode is Mode.ASHORE_BUNG_OUT:
        yield opening("bung", "Drain bung: in and tight, a hand on it from outside", "She stood with her bung out")
    for seacock in record.open_seacocks:
        yield opening(
            f"seacock-{seacock.id}",
            f"{seacock.name} seacock: hose on, both clips tight; shut, or open because she needs it so",
            f"Left open: {seacock.reason}",
        )
    for item in record.open_items:
        if item.opens_hull or opens_the_hull(item.what):
            why = f"Tag {item.tag}{left_by(record, item.tag)}"
            yield opening(
                f"tag-{item.tag}", f"{item.what}: put right, and seen closed", why, opened=item.closed is None
            )
