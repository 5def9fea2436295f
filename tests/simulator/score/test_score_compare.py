"""Two results held against each other: a real difference is told, chance is not."""

from random import Random

import pytest
from hand_made import caught, line, missed

from simulator.score.compare import Change, compare
from simulator.score.results import VesselWinter
from simulator.score.rows import FREEZE_ALONE, SILENT_AFLOAT
from simulator.score.table import print_changes

ROW = FREEZE_ALONE.name
HOUR_S = 3_600.0


def score(chance: Random, *, caught_share: float = 0.8, hours: float = 10.0, cried: float = 0.1, many: int = 200,
          called: str = "v", soon_s: float = 1800.0) -> list[VesselWinter]:  # fmt: skip
    """A made result: so many are caught, warned by about so many hours, and so many cry wolf."""
    lines = []
    for n in range(many):
        warned_s = max(chance.gauss(hours, 2), 0.1) * HOUR_S
        freeze = (
            caught(ROW, warned_s, within=warned_s >= 6 * HOUR_S)
            if chance.random() < caught_share
            else missed(ROW, within=False)
        )
        heard = caught(SILENT_AFLOAT.name, chance.uniform(0.5, 1.5) * soon_s, within=True)
        lines.append(line(f"{called}{n}", freeze, heard, warnings=int(chance.random() < cried), opened=1))
    return lines


def words(changes: list[Change]) -> dict[tuple[str, str], str]:
    return {(c.name, c.figure): c.word for c in changes}


def test_the_same_result_has_not_changed() -> None:
    lines = score(Random(1))
    assert {c.word for c in compare(lines, lines)} == {"no more than chance", "too few to tell"}


def test_two_draws_of_the_same_watch_differ_by_chance_alone() -> None:
    # 95 % intervals cry at one figure in twenty: over 20 pairs and 8 figures 8 times; three times as often is a fault.
    cries = 0
    for n in range(20):
        old = score(Random(n), called="old", many=100)
        new = score(Random(1000 + n), called="new", many=100)
        cries += sum(c.word in {"better", "worse"} for c in compare(old, new, draws=100))
    assert cries <= 24


def test_more_caught_longer_warnings_and_fewer_cries_are_better() -> None:
    found = words(compare(score(Random(1)), score(Random(2), caught_share=0.99, hours=14.0, cried=0.01)))
    assert found[ROW, "caught"] == "better"
    assert found[ROW, "median warning"] == "better"
    assert found[ROW, "within target"] == "better"
    assert found["false, priority warning", "count"] == "better"


def test_a_longer_delay_and_more_cries_are_worse() -> None:
    found = words(compare(score(Random(1)), score(Random(2), soon_s=3600.0, cried=0.4)))
    assert found[SILENT_AFLOAT.name, "median delay"] == "worse"
    assert found[SILENT_AFLOAT.name, "worst tenth delay"] == "worse"
    assert found["false, priority warning", "count"] == "worse"
    assert found[ROW, "caught"] == "no more than chance"


def test_the_same_vessel_winters_are_held_against_themselves() -> None:
    """One in ten that is caught no more shows where the vessels are the same, and is chance where they differ."""
    chance = Random(3)
    old = score(chance, caught_share=0.7, many=100)
    new = [
        made if n % 10 else line(made.vessel, missed(ROW, within=False), *made.watch.told[1:], opened=1)
        for n, made in enumerate(old)
    ]
    others = [made.model_copy(update={"vessel": f"other{n}"}) for n, made in enumerate(new)]
    assert words(compare(old, new))[ROW, "caught"] == "worse"
    assert words(compare(old, others))[ROW, "caught"] == "no more than chance"


def test_a_comparison_says_the_same_every_time() -> None:
    old, new = score(Random(1)), score(Random(2))
    assert compare(old, new) == compare(old, new)


def test_a_handful_is_too_few_to_tell() -> None:
    old, new = score(Random(1), many=9, caught_share=1.0), score(Random(2), many=9, caught_share=0.0)
    assert {c.word for c in compare(old, new)} == {"too few to tell"}


def test_changes_are_told_in_words_with_both_figures() -> None:
    old, new = score(Random(1), caught_share=1.0), score(Random(1), caught_share=0.5)
    text = "\n".join(print_changes(compare(old, new), "old.json", old, new))
    assert "worse" in text
    assert f"{ROW}: caught" in text
    assert "100.0 % -> " in text
    nothing = "\n".join(print_changes(compare(old, old), "old.json", old, old))
    assert "nothing got better or worse" in nothing
    assert f"{len(old)} vessel-winters are in both; {len(old)} of them came out the same" in nothing
    other = "\n".join(print_changes(compare(old, old[1:]), "old.json", old, old[1:]))
    assert "1 are in old.json alone, 0 in this one alone" in other


def test_the_interval_holds_the_difference() -> None:
    old, new = score(Random(1)), score(Random(2), hours=14.0)
    change = next(c for c in compare(old, new) if (c.name, c.figure) == (ROW, "median warning"))
    assert change.before is not None
    assert change.after is not None
    assert change.low is not None
    assert change.high is not None
    assert change.low <= change.after - change.before <= change.high
    assert change.after - change.before == pytest.approx(4 * HOUR_S, abs=1.5 * HOUR_S)
