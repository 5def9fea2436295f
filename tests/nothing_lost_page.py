"""Runs the fault tests in full and puts their figures into deploy/docs/nothing_lost.md.

``python -m tests.nothing_lost_page`` runs all of them, most of an hour's half; words after it go to pytest, such as
``-k storm``: what was not run stays as it stands on the page.
"""

import os
import re
import subprocess
import sys
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from pathlib import Path

from tests.marked import fill

ROOT = Path(__file__).parents[1]
PAGE = ROOT / "deploy" / "docs" / "nothing_lost.md"
FIGURES, END_FIGURES = "<!-- figures -->", "<!-- /figures -->"
MEASURED, END_MEASURED = "<!-- measured -->", "<!-- /measured -->"
FULL = {
    "COLDBERTH_TEST_KILLS": "200",
    "COLDBERTH_TEST_BROKER_KILLS": "20",
    "COLDBERTH_TEST_AWAY_S": "600",
    "COLDBERTH_TEST_STORM_S": "60",
    "COLDBERTH_TEST_CUTS": "20",
}
"""How long and how often the full tests fail things; CI takes less."""
_HEAD = "| what went wrong | published | acknowledged | stored | lost | doubled | beside that | day |\n"
_RULE = "|---|---:|---:|---:|---:|---:|---|---|\n"
_NUMBERS = ("published", "acknowledged", "stored", "lost", "doubled")
_LINE = re.compile(
    "figures: (?P<fault>.+): " + ", ".join(rf"{name} (?P<{name}>[\d,]+)" for name in _NUMBERS) + "(?:; (?P<more>.+))?$"
)


def rows_of(output: str, day: str) -> dict[str, str]:
    """Give the table's rows that a run of the tests printed, by what went wrong."""
    rows = {}
    for line in output.splitlines():
        found = _LINE.search(line)
        if found is not None:
            cells = [found["fault"], *(found[name] for name in _NUMBERS), found["more"] or "", day]
            rows[_name(found["fault"])] = f"| {' | '.join(cells)} |"
    return rows


def measured_in(output: str, day: str) -> dict[str, str]:
    """Give the lines of what else was measured, by what it was."""
    lines = [line.partition("measured: ")[2] for line in output.splitlines() if "measured: " in line]
    return {_name(line.partition(":")[0]): f"- {line}. ({day})" for line in lines}


def rows_on(page: str) -> dict[str, str]:
    """Give the rows that stand on a page, by what went wrong."""
    lines = _between(page, FIGURES, END_FIGURES).removeprefix(f"\n{_HEAD}{_RULE}").splitlines()
    return {_name(line.split("|")[1].strip()): line for line in lines if line.startswith("| ")}


def measured_on(page: str) -> dict[str, str]:
    """Give the measured lines that stand on a page."""
    lines = _between(page, MEASURED, END_MEASURED).splitlines()
    return {_name(line.removeprefix("- ").partition(":")[0]): line for line in lines if line.startswith("- ")}


def filled(page: str, rows: Mapping[str, str], measured: Mapping[str, str]) -> str:
    """Give a page with these rows and lines in place of those of the same name, and the others as they stood."""
    rows, measured = rows_on(page) | rows, measured_on(page) | measured
    page = fill(page, FIGURES, END_FIGURES, f"{FIGURES}\n\n{_HEAD}{_RULE}{_joined(rows.values())}\n{END_FIGURES}", PAGE)
    return fill(page, MEASURED, END_MEASURED, f"{MEASURED}\n\n{_joined(measured.values())}\n{END_MEASURED}", PAGE)


def _joined(lines: Iterable[str]) -> str:
    return "".join(f"{line}\n" for line in lines)


def _between(page: str, begins: str, ends: str) -> str:
    return page.partition(begins)[2].partition(ends)[0].removeprefix("\n")


def _name(what: str) -> str:
    """What a fault is called however long or often it was made."""
    return re.sub(r"[\d,.]+", "n", what)


if __name__ == "__main__":
    words = [sys.executable, "-m", "pytest", "-s", "-q", "tests/faults", "tests/test_kill.py", *sys.argv[1:]]
    done = subprocess.run(words, cwd=ROOT, env=FULL | os.environ, stdout=subprocess.PIPE, text=True, check=False)
    if done.returncode:
        sys.exit(f"{done.stdout}\nthe tests failed; {PAGE} is as it was")
    today = datetime.now(UTC).date().isoformat()
    rows, measured = rows_of(done.stdout, today), measured_in(done.stdout, today)
    PAGE.write_text(filled(PAGE.read_text("utf-8"), rows, measured), "utf-8")
    sys.stdout.write(f"{PAGE}: {len(rows)} faults and {len(measured)} other figures of this run\n")
