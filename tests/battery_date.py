"""How well the date is foretold on which a battery wants a charge. ``python -m tests.battery_date [FIRST_SEED]``.

For each boat of the winters *hidden-load* and *slow-drain*: what the battery rule said thirty days after the draw
began, against the day on which the charge truly passed the rule's threshold. It prints the share within seven days, the
median error, and how often the truth lay within the range that was told.
"""

import sys
from collections.abc import Iterator
from statistics import median
from typing import NamedTuple

from monitor.cli.heard import take
from monitor.fleet import Fleet, NothingStored
from monitor.model.inputs import RecordVersion
from monitor.rules.battery_limits import LIMITS
from simulator.library import read_winter
from simulator.truth import TruthLog
from simulator.winter import Winter

DAY_MS = 86_400_000
SEEN_D = 30
BOATS = 12
HOURLY_S = 3_600
WITHIN_D = 7.0
THRESHOLD = f"charge under {LIMITS['recharge']:.0f} %"


class Foretold(NamedTuple):
    """What was said of one battery, as days off the truth: the best estimate, and the ends of the range told."""

    off_d: float
    low_d: float
    high_d: float
    loss_pct_day: float


def foretold(winter: Winter) -> Foretold | None:
    """Give what was said of the first battery of a winter's only boat; None where it wants no charge, or did."""
    (record,) = winter.vessels
    bank_id = record.batteries[0].id
    fleet, log = Fleet(NothingStored()), TruthLog()
    fleet.calendar(winter.calendar, 0)
    fleet.command(RecordVersion(record, winter.plan.begins_ms, record.engineer))
    said: tuple[int, float, float, float, float] | None = None
    for message in winter.stream(log):
        take(fleet, message)
        fleet.hand_over()
        drawn = next((c.begins_ms for c in log.causes if c.kind == "hidden load"), None)
        if said is None and drawn is not None and message.at_ms >= drawn + SEEN_D * DAY_MS:
            bank = fleet.watches[record.id].state.rules["battery"].banks.get(bank_id)
            outlook = None if bank is None else bank.outlook
            if outlook is None or outlook.days is None or outlook.loss_pct_day is None:
                return None
            low, high = outlook.days_low or 0.0, outlook.days_high
            said = (outlook.at_ms, outlook.days, low, 9_999.0 if high is None else high, outlook.loss_pct_day)
    if said is None:
        return None
    passed_ms = next((m.at_ms for m in log.marks if m.kind == THRESHOLD), None)
    if passed_ms is None or passed_ms <= said[0]:
        return None
    true_d = (passed_ms - said[0]) / DAY_MS
    return Foretold(said[1] - true_d, said[2] - true_d, said[3] - true_d, said[4])


def all_foretold(first_seed: int) -> Iterator[Foretold]:
    """Give what was said of each boat."""
    for name in ("hidden-load", "slow-drain"):
        winter = read_winter(name, BOATS, first_seed, HOURLY_S)
        for number in range(BOATS):
            said = foretold(winter.alone(number))
            if said is not None:
                yield said


if __name__ == "__main__":
    seed = int(sys.argv[1]) if len(sys.argv) > 1 else 1
    found = list(all_foretold(seed))
    within = sum(abs(f.off_d) <= WITHIN_D for f in found)
    ranged = sum(f.low_d <= 0 <= f.high_d for f in found)
    sys.stdout.write(
        f"seed {seed}: {len(found)} batteries; within {WITHIN_D:g} days {within}; median error "
        f"{median(abs(f.off_d) for f in found):.1f} d; the truth within the range told {ranged}\n"
    )
    for f in sorted(found, key=lambda f: abs(f.off_d)):
        sys.stdout.write(
            f"  {f.off_d:+6.1f} d, range {f.low_d:+.0f} to {f.high_d:+.0f}, at {f.loss_pct_day:.2f} % a day\n"
        )
