"""Another process holds the journal's lock for a while: the real program waits, says so, and loses nothing.

``COLDBERTH_TEST_LOCKED_S`` sets for how long.
"""

import os
import sqlite3
import time
from pathlib import Path

import pytest
from faulted_yard import FaultedYard, Publishing, account, wait_until
from fixtures_broker import Broker

LOCKED_S = float(os.environ.get("COLDBERTH_TEST_LOCKED_S", "8"))


@pytest.mark.broker
@pytest.mark.slow
def test_a_journal_that_another_process_locks_is_waited_for_and_nothing_is_lost(tmp_path: Path, broker: Broker) -> None:
    yard = FaultedYard(tmp_path, broker, tmp_path / "coldberth.sqlite")
    yard.start()
    publishing = Publishing(broker, 0.05)
    try:
        wait_until(lambda: len(yard.stored()) > 10, yard.log)
        other = sqlite3.connect(yard.journal, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        began, told = time.monotonic(), set()
        before = len(yard.stored())
        while time.monotonic() - began < LOCKED_S:
            status, said = yard.health()
            told |= set(said.get("reasons", ()))
            assert status in {200, 503}  # the pages go on
            time.sleep(0.2)
        assert len(yard.stored()) == before  # readers go on as well
        other.execute("COMMIT")
        other.close()
        wait_until(lambda: yard.health()[0] == 200, yard.log)
        acknowledged = publishing.stop()
        account(yard, publishing, acknowledged, f"locked for {LOCKED_S:.0f} s")
        assert "the journal cannot be written: database is locked" in told
        assert "the journal cannot be written (database is locked); the batch is kept and tried again" in yard.log()
        assert "the journal can be written again" in yard.log()
        assert yard.stop() == 0
        yard.command("check", "--all")
    finally:
        publishing.stop()
        yard.end()
