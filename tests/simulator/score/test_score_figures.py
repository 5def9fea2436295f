"""The score's figures: counts with exact bounds, quantiles, and what they are read from."""

import csv
import io
import json
from pathlib import Path
from statistics import median_low

import pytest
from hand_made import caught, line, missed
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest, chi2, poisson

from monitor.model.document import DocumentError
from simulator.score.bounds import most_events, most_likely_missed
from simulator.score.figures import figures_of, quantile
from simulator.score.files import read_result, write_csv
from simulator.score.judge import NEVER_S
from simulator.score.results import Result, Side
from simulator.score.rows import DRIP, FREEZE_ALONE, MOULD, POWER_SEEN, ROWS, SILENT_AFLOAT
from simulator.score.table import duration, print_figures, print_misses


def test_row_names_differ() -> None:
    assert len({row.name for row in ROWS}) == len(ROWS)


@pytest.mark.parametrize(("missed_", "tries"), [(0, 1), (0, 1000), (1, 20), (7, 300), (299, 300), (9, 9), (412, 1500)])
def test_the_bound_of_misses_is_that_of_clopper_and_pearson(missed_: int, tries: int) -> None:
    # Reference: scipy.stats.binomtest, one-sided exact interval.
    reference = binomtest(missed_, tries, alternative="less").proportion_ci(0.95, method="exact").high
    assert most_likely_missed(missed_, tries) == pytest.approx(reference, rel=1e-6)


@pytest.mark.parametrize("events", [0, 1, 6, 60, 900])
def test_the_bound_of_events_is_that_of_garwood(events: int) -> None:
    # Reference: the chi-square form of the exact Poisson limit, and its definition by scipy's distribution.
    bound = most_events(events)
    assert bound == pytest.approx(chi2.ppf(0.95, 2 * (events + 1)) / 2, rel=1e-6)
    assert poisson.cdf(events, bound) == pytest.approx(0.05, rel=1e-5)


def test_nothing_tried_has_no_bound_and_nonsense_is_an_error() -> None:
    assert most_likely_missed(0, 0) is None
    with pytest.raises(ValueError, match="5 misses of 4 tries"):
        most_likely_missed(5, 4)
    with pytest.raises(ValueError, match="-1 events"):
        most_events(-1)


@given(st.lists(st.tuples(st.integers(0, 50), st.integers(0, 3)), min_size=1).filter(lambda p: any(w for _, w in p)))
def test_a_weighted_quantile_is_that_of_the_values_written_out(pairs: list[tuple[int, int]]) -> None:
    pairs.sort()
    written_out = [v for v, w in pairs for _ in range(w)]
    values, weights = [v for v, _ in pairs], [w for _, w in pairs]
    assert quantile(values, weights, 0.5) == median_low(written_out)
    assert quantile(values, weights, 1.0) == max(written_out)


def test_a_row_counts_its_episodes_and_a_miss_counts_in_its_warning() -> None:
    warned = [caught(FREEZE_ALONE.name, h * 3600.0, within=h >= 6) for h in range(1, 10)]
    lines = [line("a", *warned), line("b", missed(FREEZE_ALONE.name, within=False))]
    row = next(r for r in figures_of(lines, "watch").rows if r.name == FREEZE_ALONE.name)
    assert (row.n, row.caught, row.missed) == (10, 9, 1)
    # 0 (missed), 1 .. 9 hours: the fifth of ten is 4 h, the lowest tenth is the miss itself.
    assert (row.median_s, row.worst_tenth_s) == (4 * 3600, 0)
    assert row.within == pytest.approx(0.4)
    assert row.reached is False


def test_a_missed_cause_was_told_never() -> None:
    lines = [
        line("a", caught(SILENT_AFLOAT.name, 1800.0, within=True), missed(SILENT_AFLOAT.name, NEVER_S, within=False))
    ]
    row = next(r for r in figures_of(lines, "watch").rows if r.name == SILENT_AFLOAT.name)
    assert (row.median_s, row.worst_tenth_s) == (1800, NEVER_S)
    assert duration(row.worst_tenth_s) == "never"


def test_a_median_target_is_reached_by_half_and_a_full_one_by_all() -> None:
    lines = [
        line(
            "a",
            caught(DRIP.name, 1.0, within=True),
            caught(DRIP.name, 9e5, within=False),
            caught(POWER_SEEN.name, 1.0, within=True),
            caught(POWER_SEEN.name, 300.0, within=False),
            missed(MOULD.name),
        )
    ]
    rows = {r.name: r for r in figures_of(lines, "watch").rows}
    assert rows[DRIP.name].reached is True
    assert rows[POWER_SEEN.name].reached is False
    assert rows[MOULD.name].reached is None  # nothing is promised
    assert rows[FREEZE_ALONE.name].reached is None  # nothing happened
    assert rows[FREEZE_ALONE.name].missed_most is None


def test_false_alerts_are_counted_by_priority_and_alerts_by_the_yards_day() -> None:
    lines = [line("a", warnings=1, opened=3), line("b", warnings=2, alarms=1, opened=2), line("c"), line("d")]
    figures = figures_of(lines, "watch")
    alarm, warning = figures.false
    assert (alarm.priority, alarm.n, alarm.per_vessel_winter) == ("alarm", 1, 0.25)
    assert (warning.priority, warning.n, warning.per_vessel_winter) == ("warning", 3, 0.75)
    # Exact Poisson upper limits at 95 %: 4.744 for one event, 7.754 for three (tables of the Poisson distribution).
    assert 4 * alarm.most == pytest.approx(4.744, abs=0.001)
    assert 4 * warning.most == pytest.approx(7.754, abs=0.001)
    assert figures.yard_day == pytest.approx(5 / (4 * 150) * 300)


def test_the_fixed_thresholds_have_figures_of_their_own() -> None:
    silent = Side(told=(missed(FREEZE_ALONE.name, within=False),), false=(), opened=0)
    lines = [line("a", caught(FREEZE_ALONE.name, 9e4, within=True), fixed=silent)]
    by_side = {side: figures_of(lines, side).rows[1].caught for side in ("watch", "fixed")}
    assert by_side == {"watch": 1, "fixed": 0}


def test_no_lines_are_no_score() -> None:
    with pytest.raises(ValueError, match="at least one vessel-winter"):
        figures_of([], "watch")


def test_the_table_names_every_row_and_what_was_missed() -> None:
    lines = [line("a", missed(FREEZE_ALONE.name, within=False), warnings=1, opened=1)]
    figures = figures_of(lines, "watch")
    table = "\n".join(print_figures(figures, figures))
    for row in ROWS:
        assert row.name in " ".join(table.split())
    assert "NOT REACHED: all caught, 6 h in 95 %" in table
    assert max(len(text) for text in table.splitlines()) < 200
    told = "\n".join(print_misses(lines))
    assert "begins to freeze, no forecast: made, seed 1, a, 2013-12-24 00:00" in told  # day 50 after 4 November
    assert "warning damp/saloon: made, seed 1, a, 2013-11-05 00:00" in told


def result(*lines: object) -> Result:
    return Result.model_validate(
        {
            "coldberth": "0.1.0",
            "date": "2013-11-04T00:00:00+00:00",
            "command": "coldberth score made",
            "winters": ["made"],
            "seeds": [1],
            "cadence_s": None,
            "vessel_winters": lines,
        }
    )


def test_a_result_comes_back_from_its_file_as_it_was(tmp_path: Path) -> None:
    made = result(line("a", caught(FREEZE_ALONE.name, 9e4, within=True), warnings=2, opened=3), line("b"))
    path = tmp_path / "score.json"
    path.write_text(made.model_dump_json())
    assert read_result(path) == made


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{", "invalid JSON"),
        ("{}", "coldberth"),
        (json.dumps({"form": 2}), "form"),
    ],
)
def test_a_file_that_is_no_result_says_so(tmp_path: Path, text: str, said: str) -> None:
    path = tmp_path / "other.json"
    path.write_text(text)
    with pytest.raises(DocumentError, match="was not written by coldberth score --json") as raised:
        read_result(path)
    assert said in str(raised.value)


def test_a_file_that_is_not_there_says_so(tmp_path: Path) -> None:
    with pytest.raises(DocumentError, match=r"none\.json: No such file"):
        read_result(tmp_path / "none.json")


def test_the_csv_has_a_line_for_each_row_and_side() -> None:
    out = io.StringIO()
    write_csv(result(line("a", caught(FREEZE_ALONE.name, 9e4, within=True), warnings=2, opened=3)), out)
    rows = list(csv.DictReader(io.StringIO(out.getvalue())))
    assert len(rows) == 2 * (len(ROWS) + 3)
    freeze = next(r for r in rows if r["side"] == "watch" and r["row"] == FREEZE_ALONE.name)
    assert (freeze["episodes"], freeze["caught"], freeze["median_s"]) == ("1", "1", "90000.0")
