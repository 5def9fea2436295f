"""A rule that is broken on purpose is noticed by the score, and a sound one passes it."""

import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from monitor.cli import main
from monitor.rules import frost_grade
from simulator.score.files import read_result
from simulator.score.results import Result
from simulator.score.rows import FREEZE_ALONE

pytestmark = pytest.mark.slow


def scored(path: Path) -> tuple[int, Result, dict[str, float]]:
    """Score one boat whose water was left in its pipes: the exit status, the result, and the false alerts allowed."""
    few = ["--vessels", "1", "--cadence", "3600", "--jobs", "1"]
    status = main(["score", "water-in-pipes", *few, "--strict", "--json", str(path)])
    figures = json.loads(path.read_text())["figures"]["watch"]
    return status, read_result(path), {f["priority"]: f["allowed"] for f in figures["false"]}


def test_a_sound_frost_rule_catches_what_freezes_and_cries_at_nothing(tmp_path: Path) -> None:
    _, result, _ = scored(tmp_path / "sound.json")
    (line,) = result.vessel_winters
    told = [t for t in line.watch.told if t.row == FREEZE_ALONE.name]
    assert len(told) > 5

    assert all(t.caught for t in told)
    assert line.watch.false == ()
    assert len(line.fixed.false) > 5  # the fixed thresholds cry at every cold night


def test_a_frost_rule_with_its_sign_flipped_cries_wolf_when_it_is_warm(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    sound = frost_grade._steps

    def flipped(*asked: object) -> Iterator[object]:
        for figure, *step in sound(*asked):  # type: ignore[arg-type]
            yield (-figure, *step)

    monkeypatch.setattr(frost_grade, "_steps", flipped)
    _, result, allowed = scored(tmp_path / "flipped.json")
    cried = [f for f in result.vessel_winters[0].watch.false if f.priority == "alarm"]
    assert {f.key.split("/")[0] for f in cried} == {"frost"}
    assert len(cried) > 100 * allowed["alarm"]


def test_a_frost_rule_that_grades_nothing_misses_every_freeze(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(frost_grade, "_steps", lambda *_: [])
    status, result, _ = scored(tmp_path / "mute.json")
    told = [t for t in result.vessel_winters[0].watch.told if t.row == FREEZE_ALONE.name]
    assert status == 1
    # It goes on to tell of thaws, which warn of no freeze to come.
    assert len(told) > 5
    assert not any(t.caught for t in told)
