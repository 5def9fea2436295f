"""What the pages cost while readings come in at full rate: for the server, on the wire, and until a browser is usable.

``python -m tests.benchmarks.pages --sizes 100 1000 2000 10000`` measures other sizes, and ``--no-browser`` leaves the
browser out.
"""

import argparse
import gc
import math
import os
import tempfile
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path

from monitor.web import create_app
from monitor.writer import YOUNG_OBJECTS
from tests.benchmarks.pages_asked import Cost, costs_of
from tests.benchmarks.pages_browser import usable_ms
from tests.benchmarks.pages_feed import FULL_RATE, fed
from tests.benchmarks.pages_yard import HISTORIES, MeasuredYard, measured_yard

SIZES = (100, 1_000, 2_000)
REST_S = 1.0
"""Readings come in for so long between two looks at the yard: a page that follows it asks every two seconds."""
YARD_PAGES = {
    "/": "yard page",
    "/?all=true": "yard page, all boats",
    "/rows": "its live rows, 20 boats",
    "owner": "an owner's page",
}
MONTH, WINTER = HISTORIES
OWNED = "/vessels/boat-00001"
"""Whoever owns one boat is led straight to her page."""


@dataclass(frozen=True, slots=True)
class Sized:
    """What pages cost in a yard of one size, by address; and until they are usable in a browser (ms)."""

    vessels: int
    costs: dict[str, Cost]
    usable_ms: dict[str, float]
    fed_per_s: float
    load: float


def measured(vessels: int, folder: Path, *, browser: bool) -> Sized:
    """Measure a yard of so many boats."""
    yard = measured_yard(folder, vessels, Path(tempfile.gettempdir()) / "coldberth-bench-cache")
    try:
        with fed(yard) as so_far:
            costs = _costs(yard)
            usable = usable_ms(yard, ("/", "/?all=true", _vessel(MONTH), _vessel(WINTER))) if browser else {}
            return Sized(vessels, costs, usable, so_far.per_s, os.getloadavg()[0])
    finally:
        yard.close()


def _costs(yard: MeasuredYard) -> dict[str, Cost]:
    app = create_app(yard.deps)
    looked = ["/", "/?all=true", "/rows?ids=" + ",".join(yard.heard[:20])]
    first_ms = costs_of(app, ["/"], yard.sailor, before=lambda _: None, times=1)[0].first_ms
    _spare_the_kept()

    def rested(_address: str) -> None:
        time.sleep(REST_S)

    def heard(address: str) -> None:
        # What is kept of a vessel's charts holds until she is heard; they are asked for just after her page.
        if "charts.json" not in address:
            yard.yard.changes.publish(yard.yard.seq, HISTORIES)

    costs = dict(zip(YARD_PAGES, costs_of(app, looked, yard.sailor, before=rested), strict=False))
    costs["owner"] = costs_of(app, [OWNED], yard.owner, before=rested)[0]
    pages = [_vessel(MONTH), _charts(MONTH), _vessel(WINTER), _charts(WINTER)]
    of = costs_of(app, pages, yard.sailor, before=heard)
    gc.unfreeze()
    return costs | {"/": replace(costs["/"], first_ms=first_ms), MONTH: of[0] + of[1], WINTER: of[2] + of[3]}


def _spare_the_kept() -> None:
    """Have the collector of garbage leave alone what is kept, as the program's writer does."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(YOUNG_OBJECTS, *gc.get_threshold()[1:])


def _vessel(name: str) -> str:
    return f"/vessels/{name}?span=winter"


def _charts(name: str) -> str:
    return f"/vessels/{name}/charts.json?span=winter"


def lines(sizes: Sequence[int] = SIZES, *, browser: bool = True) -> Iterator[str]:
    """Give what pages cost, in words."""
    yield f"pages, while {FULL_RATE:,} readings/s come in (a process of its own commits them 20 times a second):"
    found = []
    for vessels in sizes:
        with tempfile.TemporaryDirectory(prefix="coldberth-bench-") as folder:
            found.append(measured(vessels, Path(folder), browser=browser))
        yield from _told(found[-1])
    yield from _growth(found)


def _told(sized: Sized) -> Iterator[str]:
    yield f"  {sized.vessels:,} vessels ({sized.fed_per_s:,.0f} readings/s came in, load {sized.load:.1f}):"
    for key, name in (YARD_PAGES | {MONTH: "vessel, 30 days", WINTER: "vessel, 180 days"}).items():
        cost = sized.costs[key]
        size = f"{cost.size / 1024:7,.0f} kB, {cost.packed / 1024:5,.0f} kB packed"
        spent = f"{cost.cpu_ms:7.1f} ms of processor (first {cost.first_ms:,.0f}), {cost.wall_ms:7.1f} ms by the clock"
        yield f"         {spent}, {size}: {name}"
    month, winter = sized.costs[MONTH], sized.costs[WINTER]
    yield (
        f"         180 days over 30 days: {winter.cpu_ms / month.cpu_ms:.2f} of processor,"
        f" {winter.wall_ms / month.wall_ms:.2f} by the clock, {winter.packed / month.packed:.2f} of bytes"
    )
    if sized.usable_ms:
        usable = sized.usable_ms
        yield "         usable in chromium after " + ", ".join(f"{ms:,.0f} ms ({name})" for name, ms in usable.items())
        yield f"         180 days over 30 days in chromium: {usable[_vessel(WINTER)] / usable[_vessel(MONTH)]:.2f}"


def _growth(found: Sequence[Sized]) -> Iterator[str]:
    """Give time of the processor as a yard grows, and how steep: 1 is in proportion, 0 is not at all."""
    if len(found) < 2:
        return
    yield "  growth, ms of processor:"
    yield " " * 33 + "".join(f"{sized.vessels:>10,}" for sized in found) + "     slope from size to size"
    for key, name in (YARD_PAGES | {WINTER: "vessel, 180 days"}).items():
        slopes = (
            math.log(b.costs[key].cpu_ms / a.costs[key].cpu_ms) / math.log(b.vessels / a.vessels)
            for a, b in pairwise(found)
        )
        cells = "".join(f"{sized.costs[key].cpu_ms:10.1f}" for sized in found)
        yield f"         {name:24}{cells}     " + ", ".join(f"{slope:.2f}" for slope in slopes)


def main() -> None:
    """Measure the sizes that are asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sizes", type=int, nargs="+", default=SIZES)
    parser.add_argument("--no-browser", action="store_true")
    asked = parser.parse_args()
    for line in lines(asked.sizes, browser=not asked.no_browser):
        print(line, flush=True)


if __name__ == "__main__":
    main()
