"""How costs grow with the number of boats: a table, and the slope of each column.

A slope is the power by which a whole yard's cost grows between the smallest and the largest size: 1 is in step with the
boats, less is cheaper by the dozen, 2 is the square.
"""

from collections.abc import Iterator, Sequence
from math import log

from tests.benchmarks.fleet import fleet_cost
from tests.benchmarks.restart import restart_s

SIZES = (100, 1_000, 10_000)
MINUTES = 10
_KB_A_MB = 1_000


def lines(sizes: Sequence[int] = SIZES) -> Iterator[str]:
    """Measure each size; 10,000 boats take some minutes."""
    rows = [_row(vessels) for vessels in sizes]
    yield "growth:    boats  judging   commits   saving    memory   start after a stop"
    for vessels, row in zip(sizes, rows, strict=True):
        judging, commits, saving, memory_mb, start_s = row
        yield (
            f"         {vessels:7,d}  {judging:7.2%}  {commits:7.2%}  {saving:7.2%}  {memory_mb:6.1f} MB"
            f"   {start_s:6.1f} s"
        )
    if len(sizes) > 1:
        steps = log(sizes[-1] / sizes[0])
        slopes = [log(last / first) / steps for first, last in zip(rows[0], rows[-1], strict=True)]
        yield "         slope    " + "   ".join(f"{slope:6.2f}" for slope in slopes)


def _row(vessels: int) -> tuple[float, float, float, float, float]:
    cost = fleet_cost(vessels, MINUTES)
    memory_mb = max(cost.kb_by_day.values()) * vessels / _KB_A_MB
    return cost.fold_cpu, cost.commit_cpu, cost.save_cpu, memory_mb, restart_s(vessels, killed=False)
