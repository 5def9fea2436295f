"""The page of held-out figures is made from results, and can be made again."""

import re
from pathlib import Path

import pytest

from monitor.cli import main
from monitor.cli.score import HELD_OUT_FROM
from simulator.score.files import read_result
from tests.score_page import BEGINS, ENDS, PAGE, block, filled, joined

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def result_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("score") / "one.json"
    assert main(["score", "quiet", "--vessels", "1", "--cadence", "3600", "--jobs", "1", "--json", str(path)]) == 0
    return path


def test_results_are_joined_into_the_page_between_its_marks(result_path: Path) -> None:
    result = read_result(result_path)
    page = filled(f"before\n{BEGINS}\nstale block\n{ENDS}\nafter\n", [result])
    assert page.startswith(f"before\n{BEGINS}")
    assert page.endswith(f"{ENDS}\nafter\n")
    assert "stale block" not in page
    assert "| nothing goes wrong (quiet) | 1 | 1 | 0 (0.000," in block([result])


def test_a_vessel_winter_that_stands_in_two_results_counts_once_and_must_be_the_same(result_path: Path) -> None:
    result = read_result(result_path)
    (line,) = joined([result, result])
    other = result.model_copy(update={"vessel_winters": (line.model_copy(update={"days": 7.0}),)})
    with pytest.raises(ValueError, match="came out otherwise in two of the results"):
        joined([result, other])


def test_the_page_in_the_docs_states_held_out_figures_of_a_thousand_vessel_winters() -> None:
    text = PAGE.read_text(encoding="utf-8").partition(BEGINS)[2].partition(ENDS)[0]
    many = next(int(line.split()[0]) for line in text.splitlines() if "vessel-winters. Beneath" in line)
    assert many >= 1000
    seeds = [int(seed) for seed in re.findall(r"--first-seed (\d+)", text)]
    assert seeds
    assert min(seeds) >= HELD_OUT_FROM
