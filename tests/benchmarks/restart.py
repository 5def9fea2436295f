"""How long an agent takes from its start until it watches, by the number of boats it has to remember.

The journal is a yard's that was stopped cleanly after three hours, and one's that was killed, whose states were last
saved ten minutes before: what came since is folded again. Timed is what the agent does in the process; loading
the program comes before it, and does not grow with the yard.
"""

import logging
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from monitor.agent import Agent
from monitor.fleet import Fleet, Save
from monitor.model.inputs import RecordVersion
from monitor.settings import ClockMode, Settings, Web, Yard
from monitor.settings import Journal as JournalSettings
from monitor.store.journal import Journal
from tests.benchmarks.yard import BEGINS_MS, packs, records

VESSELS = 1_000
EVERY_MS, HOUR_MS, HOURS = 300_000, 3_600_000, 3
UNSAVED_MS = 600_000


def restart_s(vessels: int, *, killed: bool) -> float:
    """Give how long a start over the journal of so many boats takes until the loop can take its first message, s."""
    with tempfile.TemporaryDirectory(prefix="coldberth-bench-") as folder:
        path = Path(folder) / "journal.sqlite"
        logging.getLogger("monitor").setLevel(logging.CRITICAL)  # there is no broker, and that is known
        _fill(path, vessels, killed=killed)
        journal = JournalSettings(path=path, clock=ClockMode.STREAM)
        settings = Settings(yard=Yard(id="quay", name="Quay"), journal=journal, web=Web(enabled=False))
        began_s = time.perf_counter()
        agent = Agent(settings)
        agent.start()
        agent.writer.submit(lambda _: None).result(600)  # answered once the loop has come round
        took_s = time.perf_counter() - began_s
        agent.stop()
        return took_s


def lines(vessels: int = VESSELS) -> Iterator[str]:
    """Measure a start after a clean stop and after a kill."""
    began_s = time.perf_counter()
    subprocess.run([sys.executable, "-c", "import monitor.agent"], check=True)
    loading_s = time.perf_counter() - began_s
    yield f"restart: {vessels:,} boats, from the start until messages are taken, after {loading_s:.1f} s of loading:"
    yield f"         {restart_s(vessels, killed=False):.1f} s after a clean stop"
    yield f"         {restart_s(vessels, killed=True):.1f} s after a kill, with ten minutes of readings to fold again"


def _fill(path: Path, vessels: int, *, killed: bool) -> None:
    journal = Journal(path)
    fleet = Fleet(journal)
    for record in records(vessels):
        fleet.command(RecordVersion(record, BEGINS_MS, "bench"))
    journal.append(fleet.hand_over())
    for at_ms in range(BEGINS_MS + EVERY_MS, BEGINS_MS + HOURS * HOUR_MS + 1, EVERY_MS):
        fleet.clock(at_ms)
        for parcel in packs(vessels, at_ms):
            fleet.take(parcel, at_ms, caught_up=True)
        saves = at_ms == BEGINS_MS + HOURS * HOUR_MS - killed * UNSAVED_MS
        journal.append(fleet.hand_over(Save.EVERYTHING if saves else Save.NOTHING))
    journal.close()
