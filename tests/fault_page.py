"""Writes the kinds of faults into deploy/docs/winters.md. ``python -m tests.fault_page``."""

import sys
from inspect import getdoc
from pathlib import Path

from simulator.faults import FAULTS
from simulator.faults.fault import FaultPlan
from tests.marked import fill

PAGE = Path(__file__).parents[1] / "deploy" / "docs" / "winters.md"
BEGINS, ENDS = "<!-- faults -->", "<!-- /faults -->"
_HEAD = "| kind | what it is | its figures |\n|---|---|---|\n"
_COMMON = {"kind", "vessel", "subject", "begins", "ends", "bilge", "other"}


def table() -> str:
    """Give the table of faults as it should stand between its marks, in the order of their hazards."""
    return f"{BEGINS}\n\n{_HEAD}" + "".join(f"{_line(kind, fault)}\n" for kind, fault in FAULTS.items()) + f"\n{ENDS}"


def filled(text: str) -> str:
    """Give the page with its faults filled in.

    Raises:
        ValueError: where it has no place for them.
    """
    return fill(text, BEGINS, ENDS, table(), PAGE)


def _line(kind: str, fault: type[FaultPlan]) -> str:
    what = " ".join((getdoc(fault) or "").split("\n\n")[0].split())
    figures = ", ".join(f"`{name}`" for name in fault.model_fields if name not in _COMMON) or "-"
    return f"| {kind} | {what.replace('|', '/')} | {figures} |"


if __name__ == "__main__":
    PAGE.write_text(filled(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
    sys.stdout.write(f"{PAGE}: {len(FAULTS)} kinds\n")
