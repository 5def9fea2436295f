"""The page on simulated winters says what the code says."""

from simulator.climates import CLIMATES
from tests.fault_page import PAGE, filled


def test_the_page_lists_every_kind_of_fault_as_it_is() -> None:
    text = PAGE.read_text(encoding="utf-8")
    assert filled(text) == text, "run: python -m tests.fault_page"


def test_the_page_names_every_climate() -> None:
    text = PAGE.read_text(encoding="utf-8")
    assert [name for name in CLIMATES if f"`{name}`" not in text] == []
