"""Run the benchmarks and print what they found. Nothing is asserted: a figure is a finding, not a test.

``python -m tests.benchmarks`` runs all but the growth, which takes many minutes; names choose some of them, and
``--vessels 100,1000`` the sizes of the growth.
"""

import argparse
import os
import platform
from collections.abc import Callable, Iterator

from tests.benchmarks import fleet, growth, journal, pages, pipeline, replay, restart, telling

BENCHMARKS: dict[str, Callable[[], Iterator[str]]] = {
    "pipeline": pipeline.lines,
    "journal": journal.lines,
    "replay": replay.lines,
    "telling": lambda: iter(telling.lines()),
    "fleet": fleet.lines,
    "restart": restart.lines,
    "pages": pages.lines,
}
"""By name, in the order in which they run."""


def main() -> None:
    """Run what was asked for."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description="What it costs, on this machine.")
    parser.add_argument("names", nargs="*", metavar="NAME", help=f"of {', '.join(BENCHMARKS)}, growth (all but growth)")
    parser.add_argument("--vessels", default=",".join(map(str, growth.SIZES)), help="sizes of the growth")
    asked = parser.parse_args()
    sizes = [int(size) for size in asked.vessels.split(",")]
    known = BENCHMARKS | {"growth": lambda: growth.lines(sizes)}
    unknown = [name for name in asked.names if name not in known]
    if unknown:
        parser.error(f"no benchmark {unknown[0]!r}: there are {', '.join(known)}")
    print(f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}")
    for name in asked.names or BENCHMARKS:
        print()
        for line in known[name]():
            print(line, flush=True)


if __name__ == "__main__":
    main()
