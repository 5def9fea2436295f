"""The worked values in the simulator's docstrings hold."""

import doctest
import importlib

import pytest


@pytest.mark.parametrize("name", ["battery", "bilge", "vapour"])
def test_worked_values_hold(name: str) -> None:
    outcome = doctest.testmod(importlib.import_module(f"simulator.{name}"))
    assert outcome.failed == 0
    assert outcome.attempted > 0
