"""Measures what history costs and puts the figures into deploy/docs/history.md.

``python -m tests.history_page`` takes some minutes; it needs ``victoria-metrics`` on PATH.
"""

import argparse
import shutil
import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parent / "store"))

from history_kept import Kept, reading
from victoria import Victoria

from monitor.model.reading import Reading
from monitor.store.history_config import HistoryConfig
from monitor.store.history_view import HistoryView, history_view
from monitor.store.view import JournalView
from simulator.winter import Pack, yard_winter
from tests.marked import fill

PAGE = Path(__file__).parents[1] / "deploy" / "docs" / "history.md"
BEGINS, ENDS = "<!-- measured -->", "<!-- /measured -->"
DAY_MS, FIVE_MINUTES_S, IN_A_BATCH = 86_400_000, 300, 2_000
CHART_DAYS, STEPS = 30, 800
ON_DISK_AFTER_S = 8.0


@dataclass(frozen=True)
class Sent:
    """What it took to send a journal: seconds of wall, of our processor and of the server's, and its memory (MB)."""

    wall_s: float
    ours_s: float
    theirs_s: float
    memory_mb: float


def demo(days: int) -> Iterator[Reading]:
    """Give what the demo's boats say at five minutes, each reading once."""
    winter, seen = yard_winter(FIVE_MINUTES_S), set()
    for message in winter.stream():
        if not isinstance(message, Pack):
            continue
        if message.at_ms > winter.plan.begins_ms + days * DAY_MS:
            return
        for sensor, _, stated_ms, value in message.readings:
            if (message.vessel, sensor, stated_ms) not in seen:
                seen.add((message.vessel, sensor, stated_ms))
                yield reading(stated_ms, value, vessel=message.vessel, sensor=sensor)


def wide(boats: int) -> Iterator[Reading]:
    """Give half an hour of five sensors of each of many boats."""
    now_ms = time.time_ns() // 1_000_000
    for step in range(6):
        for boat in range(boats):
            for sensor in range(5):
                value = 5 + (boat + step) % 9 / 10
                at_ms = now_ms - (6 - step) * 300_000
                yield reading(at_ms, value, vessel=f"boat-{boat}", sensor=f"sensor-{sensor}")


def stored(path: Path, readings: Iterator[Reading]) -> Kept:
    """Put readings into a new journal."""
    kept, batch = Kept(path), list[Reading]()
    for one in readings:
        batch.append(one)
        if len(batch) == IN_A_BATCH:
            kept.append(batch)
            batch = []
    kept.append(batch)
    kept.journal._db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return kept


def sent(kept: Kept, victoria: Victoria) -> Sent:
    """Send a whole journal."""
    last, history = kept.journal.ends_at()[0], kept.history(HistoryConfig(url=victoria.url))
    theirs_s, ours_s, begun = victoria.processor_s(), time.process_time(), time.monotonic()
    history.start()
    while history.taken_to < last:
        time.sleep(0.02)
    wall_s, ours_s = time.monotonic() - begun, time.process_time() - ours_s
    history.stop()
    victoria.show()
    time.sleep(ON_DISK_AFTER_S)
    return Sent(wall_s, ours_s, victoria.processor_s() - theirs_s, victoria.memory_mb())


def chart_ms(view: HistoryView | JournalView, kept: Kept) -> float:
    """Give the median time of a sensor's chart."""
    db, took = kept.journal._db, []
    to_ms = db.execute("SELECT max(stated_ms) FROM reading").fetchone()[0]
    for vessel, sensor in db.execute("SELECT vessel, sensor FROM series LIMIT 20").fetchall():
        begun = time.monotonic()
        found = view.buckets(vessel, sensor, to_ms - CHART_DAYS * DAY_MS, to_ms, STEPS)
        took.append((time.monotonic() - begun) * 1000)
        assert found.buckets
    return statistics.median(took)


def measure(folder: Path, days: int, boats: int) -> str:
    """Measure, and give the table."""
    program = shutil.which("victoria-metrics")
    if program is None:
        raise SystemExit("victoria-metrics is not installed: apt-get install victoria-metrics")
    with closing(stored(folder / "demo.sqlite", demo(days))) as kept:
        victoria = Victoria(program, folder / "demo")
        victoria.start()
        cost, count = sent(kept, victoria), kept.journal.ends_at()[0]
        series = kept.journal._db.execute("SELECT count(*) FROM series").fetchone()[0]
        view = history_view(
            HistoryConfig(url=victoria.url, read="prometheus"), "quay", JournalView(kept.path), kept.path, lambda: True
        )
        assert view is not None
        with closing(view), closing(JournalView(kept.path)) as journal:
            charts = chart_ms(journal, kept), chart_ms(view, kept)
            assert view.failing is None
        victoria.stop()
        bytes_there, bytes_here = victoria.size("data"), kept.path.stat().st_size
        parts = {name: size / count for name, size in _parts(kept.path)}
    with closing(stored(folder / "wide.sqlite", wide(boats))) as kept:
        victoria = Victoria(program, folder / "wide")
        victoria.start()
        many, of_many = sent(kept, victoria), kept.journal.ends_at()[0]
        victoria.stop()
    index = victoria.size("data/indexdb") / (boats * 5 * 2)
    rows = {
        "sent and taken, one connection": f"{count / cost.wall_s:,.0f} points/s; {of_many / many.wall_s:,.0f}"
        f" with {boats * 5:,} sensors, each met for the first time after a start",
        "the agent's processor": f"{cost.ours_s / count * 1e6:.1f} µs a point",
        "VictoriaMetrics' processor": f"{cost.theirs_s / count * 1e6:.1f} µs a point",
        "disk in VictoriaMetrics": f"{bytes_there / count:.1f} bytes a reading, flag and all;"
        f" {index:.0f} bytes once for each series, two a sensor",
        "memory of VictoriaMetrics": f"{cost.memory_mb:.0f} MB with {series} sensors,"
        f" {many.memory_mb:.0f} MB with {boats * 5:,}",
        "disk in the journal": f"{bytes_here / count:.0f} bytes a reading: {parts['reading']:.0f} the reading,"
        f" {parts['reading_by_seq']:.0f} its place in the order, {parts['hour']:.0f} its hour",
        f"a chart of {CHART_DAYS} days": f"{charts[0]:.1f} ms from the journal's hours,"
        f" {charts[1]:.1f} ms from VictoriaMetrics",
    }
    day = datetime.now(UTC).date().isoformat()
    head = f"{count:,} readings of the demo's boats, each sensor every five minutes for {days} days ({day}).\n"
    return "\n".join([head, "| | figure |", "|---|---|", *(f"| {what} | {figure} |" for what, figure in rows.items())])


def _parts(path: Path) -> list[tuple[str, int]]:
    with closing(sqlite3.connect(path)) as db:
        return db.execute("SELECT name, sum(pgsize) FROM dbstat GROUP BY name").fetchall()


def main() -> None:
    """Measure and write the page."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--days", type=int, default=45)
    parser.add_argument("--boats", type=int, default=10_000)
    arguments = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        table = measure(Path(folder), arguments.days, arguments.boats)
    print(table)
    PAGE.write_text(fill(PAGE.read_text(), BEGINS, ENDS, f"{BEGINS}\n{table}\n{ENDS}", PAGE))


if __name__ == "__main__":
    main()
