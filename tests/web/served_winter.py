"""The simulator's winter, folded into a journal up to a day: a yard to look at while working on the pages.

Run it: ``python tests/web/served_winter.py FOLDER --day 60`` serves it on a free port until it is stopped.
"""

import argparse
import sys
from pathlib import Path

import uvicorn

sys.path.insert(0, str(Path(__file__).parent))

from yards import Yard

from monitor.model.batch import Batch
from monitor.model.inputs import Clock, RecordVersion
from monitor.model.parcel import ClockMessage
from monitor.model.reading import Reading
from monitor.snapshot import write_snapshot
from monitor.watch import Watch
from monitor.web import create_app
from simulator.winter import Winter, yard_winter


def winter_yard(path: Path, day: int, winter: Winter | None = None) -> Yard:
    """Fold the winter's first days into a journal."""
    winter = winter or yard_winter()
    until_ms = winter.plan.begins_ms + day * 86_400_000
    yard = Yard(path, winter.plan.begins_ms)
    watches = {v.id: Watch(v, winter.plan.begins_ms) for v in winter.vessels}
    yard.lay_up(*winter.vessels, at_ms=winter.plan.begins_ms)
    batch = Batch()

    def fold(vessel: str, item: Reading | Clock | RecordVersion) -> None:
        outcome = watches[vessel].fold(item)
        batch.events += [(yard.seq, n + 100 * list(watches).index(vessel), e) for n, e in enumerate(outcome.events)]
        batch.alerts.update(outcome.alerts)
        batch.settled.extend(outcome.settled)

    for message in winter.stream():
        if isinstance(message, ClockMessage):
            if message.at_ms > until_ms:
                break
            yard.now_ms = message.at_ms
            if len(batch.readings) > 2_000:
                yard.commit(batch)
                batch = Batch()
            seq = yard.next_seq()
            batch.inputs.append((seq, Clock(message.at_ms)))
            for vessel in watches:
                fold(vessel, Clock(message.at_ms))
            continue
        for sensor, _unit, at_ms, value in message.readings:
            made = Reading(message.vessel, sensor, at_ms, at_ms, message.at_ms, value)
            seq = yard.next_seq()
            fold(message.vessel, made)
            batch.readings.append((seq, made))
    batch.snapshots = {vessel: write_snapshot(watch) for vessel, watch in watches.items()}
    yard.commit(batch)
    return yard


def main() -> None:
    """Serve a folded winter."""
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("--day", type=int, default=60)
    parser.add_argument("--port", type=int, default=8765)
    asked = parser.parse_args()
    asked.folder.mkdir(parents=True, exist_ok=True)
    yard = winter_yard(asked.folder / "journal.db", asked.day)
    uvicorn.run(create_app(yard.deps(asked.folder / "cache")), port=asked.port, timeout_graceful_shutdown=2)


if __name__ == "__main__":
    main()
