"""What a whole yard costs at its own pace: time of the processor, and memory, by the number of boats.

The fold is fed at event time: each boat's five sensors every five minutes in one pack, a clock each minute, and a
commit whenever the agent would make one, which at a live pace is for what came within 50 ms. No broker and no pages are
in it.
"""

import json
import subprocess
import sys
from collections.abc import Iterator

from tests.benchmarks.fleet_measured import EVERY_MINUTES, FleetCost

VESSELS, MINUTES = 10_000, 20
FEW, MONTH_DAYS = 50, 31


def fleet_cost(vessels: int, minutes: int, days: int = 0) -> FleetCost:
    """Measure in a process of its own, so that its memory is only that.

    Args:
        vessels: how many boats.
        minutes: how many minutes of event time are measured.
        days: how many days are folded after that, for the memory; 0 for none.
    """
    module = "tests.benchmarks.fleet_measured"
    command = [sys.executable, "-m", module, str(vessels), str(minutes), str(days)]
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    found = json.loads(done.stdout)
    found["kb_by_day"] = {float(day): kb for day, kb in found["kb_by_day"].items()}
    return FleetCost(**found)


def lines(vessels: int = VESSELS) -> Iterator[str]:
    """Measure a large yard, and a small one for a month."""
    cost = fleet_cost(vessels, MINUTES)
    yield f"fleet: {vessels:,} boats of 5 sensors every {EVERY_MINUTES} minutes, in parts of one core:"
    yield (
        f"         {cost.cpu:.1%}: taking in and judging {cost.fold_cpu:.1%}, commits {cost.commit_cpu:.1%},"
        f" saving states {cost.save_cpu:.1%}"
    )
    yield f"         {cost.kb:.1f} kB a boat at first, {max(cost.kb_by_day.values()):.1f} kB after {MINUTES} minutes"
    month = fleet_cost(FEW, EVERY_MINUTES, MONTH_DAYS)
    by_day = ", ".join(f"{kb:.0f} after {day:.0f} d" for day, kb in month.kb_by_day.items())
    yield f"         over a month, of {FEW} boats, kB a boat: {by_day}"
