"""Run the benchmarks and print what they found. Nothing is asserted: a figure is a finding, not a test."""

import os
import platform
import tempfile
from pathlib import Path

from tests.benchmarks.journal import journal_rates
from tests.benchmarks.pipeline import pipeline_rates
from tests.benchmarks.replay import BOATS, CADENCE_S, vessel_winter
from tests.benchmarks.telling import lines as telling_lines


def main() -> None:
    """Run them all."""
    print(f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}\n")
    print(f"replay, one vessel-winter at {CADENCE_S} s on one core:")
    for vessel in BOATS:
        took = vessel_winter(vessel)
        print(
            f"         {took.watch_s:5.2f} s watch, {took.simulation_s:5.2f} s simulation:"
            f" {vessel}, {took.days} days, {took.readings:,} readings"
        )
        shares = sorted(took.rules_s.items(), key=lambda share: -share[1])
        print("                 rules, timed: " + ", ".join(f"{name} {share:.2f} s" for name, share in shares))
    print("", *telling_lines(), "", sep="\n")
    with tempfile.TemporaryDirectory(prefix="coldberth-bench-") as folder:
        ours, bare, barest = journal_rates(Path(folder))
        print(f"journal: {ours.per_s:9,.0f} readings/s committed in batches of 500, roll-ups included")
        print(f"         {bare.per_s:9,.0f} rows/s by bare executemany into the same table: ratio {ours.of(bare)}")
        print(f"         {barest.per_s:9,.0f} rows/s by the same without its index by seq: ratio {ours.of(barest)}\n")
        for readings in (1, 5):
            took, counted = pipeline_rates(Path(folder), readings)
            print(f"pipeline, {readings} reading{'s' * (readings > 1)} a message, queued in Mosquitto, QoS 1:")
            per_s = f"{took.per_s * readings:,.0f} readings/s"
            print(
                f"         {took.per_s:9,.0f} messages/s judged, committed and acknowledged ({per_s}),"
                f" {took.cpu_us:.0f} us of processor each"
            )
            print(
                f"         {counted.per_s:9,.0f} messages/s, counting paho subscriber, {counted.cpu_us:.0f} us each:"
                f" ratio {took.of(counted)}\n"
            )


if __name__ == "__main__":
    main()
