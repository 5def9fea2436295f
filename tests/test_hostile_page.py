"""The page of what was tried against the product: its figures are of a whole run, and its script can write it."""

import re
from pathlib import Path

from tests.hostile.tried import Tally, Tried
from tests.hostile_page import BEGINS, ENDS, PAGE, block, sent
from tests.marked import fill


def test_the_page_is_of_a_run_of_at_least_a_million_messages() -> None:
    figures = re.findall(r"hostile_page (\d+)`", PAGE.read_text(encoding="utf-8"))
    assert [int(figure) >= 1_000_000 for figure in figures] == [True]


def test_a_short_run_fills_the_page_in() -> None:
    tally = sent(300)
    assert tally.messages == 300
    page = fill(f"a {BEGINS}x{ENDS} b", BEGINS, ENDS, block(tally), PAGE)
    assert page.startswith(f"a {BEGINS}")
    assert page.endswith(f"{ENDS} b")
    assert "| refused: malformed |" in page


def test_every_message_of_a_run_is_counted_once(tmp_path: Path) -> None:
    tried = Tried(tmp_path)
    for _ in range(3):
        tried.send("layup/quay/tern/outside", b"4.5")
    tally = tried.finish()
    tried.close()
    assert (tally.messages, tally.readings) == (3, 3)
    both = Tally()
    both.add(tally)
    both.add(tally)
    assert (both.messages, both.readings) == (6, 6)
