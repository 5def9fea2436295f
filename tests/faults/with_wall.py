"""Runs the real program on a machine whose wall clock a test has put forward or back.

The offset in ms stands in the file that ``COLDBERTH_TEST_WALL`` names. Only the wall is put off: the clocks that nobody
sets go on as they are. (libfaketime cannot be used here: under it Python's own sleep is refused by the kernel.)
"""

import os
import sys
import time
from pathlib import Path

if __name__ == "__main__":
    offset, true_ns = Path(os.environ["COLDBERTH_TEST_WALL"]), time.time_ns

    def wall_ns() -> int:
        return true_ns() + int(offset.read_text()) * 1_000_000

    time.time_ns = wall_ns
    time.time = lambda: wall_ns() / 1e9
    from monitor.cli import main

    sys.exit(main())
