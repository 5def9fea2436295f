"""The openings in her hull of a winter. An opening stays on the list until two people saw it closed.

It is found in every version of the winter's record: a record that is put right says that somebody wrote so, and not
that two people looked.
"""

import re
from collections.abc import Iterator, Sequence

from monitor.model.gate import HULL
from monitor.model.vessel import Mode, Vessel
from monitor.model.views import StoredRecord
from monitor.record.gate_item import GateItem, Stage

_OPENINGS = re.compile(
    r"\b(bungs?|drain plugs?|hull plugs?|hoses?|seacocks?|skin fittings?|through[- ]hulls?|thru[- ]hulls?|garboards?"
    r"|transducers?|log (?:is |was )?(?:out|off|drawn|removed)|(?:paddle ?wheel|speed) logs?|log impellers?"
    r"|stern (?:gland|tube|seal)|packing|shaft (?:is |was )?(?:out|off|drawn))\b",
    re.IGNORECASE,
)
"""Words of an open item that make it an opening though nobody marked it as one: better two people too many."""


def openings(versions: Sequence[StoredRecord]) -> Iterator[GateItem]:
    """Give every opening that stood in any version of a winter's record.

    Args:
        versions: the winter's, oldest first.
    """
    known: dict[str, GateItem] = {}
    before: set[str] = set()
    for stored in versions:
        now = {item.id: item for item in _of(stored)}
        # Opened, or opened again: what was seen before it says nothing of it.
        known |= {key: item for key, item in now.items() if key not in before}
        before = set(now)
    yield from known.values()


def opens_the_hull(what: str) -> bool:
    """Say whether the words of an open item are about an opening in the hull.

    >>> opens_the_hull("Log is out, blank fitted"), opens_the_hull("Logbook is ashore")
    (True, False)
    """
    return _OPENINGS.search(what) is not None


def _of(stored: StoredRecord) -> Iterator[GateItem]:
    record, since_ms = stored.vessel, stored.from_ms
    by = f"record, version {stored.version}, by {stored.actor}"

    def opening(key: str, what: str, why: str) -> GateItem:
        return GateItem(f"{HULL}{key}", what, Stage.LIFT, f"{why} ({by})", since_ms=since_ms)

    if record.mode is Mode.ASHORE_BUNG_OUT:
        yield opening("bung", "Drain bung: in and tight, a hand on it from outside", "She stood with her bung out")
    for seacock in record.open_seacocks:
        why = f"Left open: {seacock.reason}"
        yield opening(
            f"seacock-{seacock.id}",
            f"{seacock.name} seacock: hose on, both clips tight; shut, or open because she needs it so",
            why,
        )
    for tag in _tagged(record):
        yield opening(f"tag-{tag[0]}", f"{tag[1]}: put right, and seen closed", f"Tag {tag[0]}")


def _tagged(record: Vessel) -> Iterator[tuple[int, str]]:
    for item in record.open_items:
        if item.opens_hull or opens_the_hull(item.what):
            yield item.tag, item.what
