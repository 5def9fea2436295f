"""The worked values in the simulator's docstrings hold."""

import doctest
import importlib
from pathlib import Path

import pytest

SIMULATOR = Path(__file__).parents[2] / "simulator"
WORKED = sorted(
    ".".join(path.relative_to(SIMULATOR.parent).with_suffix("").parts)
    for path in SIMULATOR.rglob("*.py")
    if ">>> " in path.read_text(encoding="utf-8")
)


@pytest.mark.parametrize("name", WORKED)
def test_worked_values_hold(name: str) -> None:
    outcome = doctest.testmod(importlib.import_module(name))
    assert outcome.failed == 0
    assert outcome.attempted > 0


def test_the_parts_with_formulas_have_worked_values() -> None:
    assert {f"simulator.{n}" for n in ("battery", "bilge", "lead", "openings", "tide", "vapour", "mould")} <= set(
        WORKED
    )
