"""The score's command line: the work cut into pieces, results in every form, errors in words."""

import csv
import json
from collections.abc import Sequence
from pathlib import Path

import pytest

from monitor.cli import main, score, score_work
from monitor.cli.score_work import Piece, ScoringError, done, pieces_of, score_piece
from simulator.score.results import FalseAlert, Side, Told, VesselWinter
from simulator.score.rows import FREEZE_ALONE, ROWS


def made(seed: int, vessel: str, *, caught: bool, cried: bool = False) -> VesselWinter:
    opened_ms = 0 if caught else None
    freeze = Told(
        row=FREEZE_ALONE.name, at_ms=1, caught=caught, opened_ms=opened_ms, seconds=3e4 * caught, within=caught
    )
    false = (FalseAlert(key="damp/saloon", priority="warning", at_ms=1),) if cried else ()
    side = Side(told=(freeze,), false=false, opened=1)
    return VesselWinter(winter="made", seed=seed, vessel=vessel, days=150, watch=side, fixed=side)


@pytest.fixture
def work(monkeypatch: pytest.MonkeyPatch) -> list[Piece]:
    """Scoring that takes no time: 20 vessels a seed, of which the seventh of seed 5 is missed. Gives what was asked."""
    asked: list[Piece] = []

    def pieces(winters: Sequence[str], seeds: Sequence[int], vessels: int | None, cadence: int | None) -> list[Piece]:
        many = 20 if vessels is None else vessels
        return [Piece(name, seed, vessels, cadence, tuple(range(many))) for name in winters for seed in seeds]

    def scored(pieces: Sequence[Piece], jobs: int) -> object:
        assert jobs >= 1
        asked.extend(pieces)
        for n, piece in reversed(list(enumerate(pieces))):  # done out of order, as processes do
            yield (
                n,
                [
                    made(piece.seed, f"v{v:02}", caught=(piece.seed, v) != (5, 7), cried=piece.seed > 2000)
                    for v in piece.numbers
                ],
            )

    monkeypatch.setattr(score, "pieces_of", pieces)
    monkeypatch.setattr(score, "done", scored)
    return asked


def test_the_table_stands_in_the_order_of_the_work(work: list[Piece], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["score", "made", "--seeds", "2"]) == 0
    out = capsys.readouterr().out
    assert [p.seed for p in work] == [1, 2]
    assert "40 vessel-winters" in out
    assert "seeds 1 to 2 (for tuning)" in out
    assert "coldberth score made --seeds 2 --first-seed 1" in out
    for row in ROWS:
        assert row.name in " ".join(out.split())


def test_held_out_seeds_begin_at_a_thousand(work: list[Piece], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["score", "made", "--held-out", "--seeds", "3"]) == 0
    assert [p.seed for p in work] == [1000, 1001, 1002]
    assert "seeds 1000 to 1002 (held out)" in capsys.readouterr().out


def test_seeds_for_tuning_and_held_out_ones_do_not_mix(work: list[Piece], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["score", "made", "--first-seed", "990", "--seeds", "20"]) == 2
    assert "mix seeds for tuning with held-out ones" in capsys.readouterr().err
    assert work == []


@pytest.mark.parametrize(("strict", "seed", "status"), [([], "5", 0), (["--strict"], "5", 1), (["--strict"], "6", 0)])
def test_strict_fails_where_a_harm_went_uncaught(
    work: list[Piece], capsys: pytest.CaptureFixture[str], strict: list[str], seed: str, status: int
) -> None:
    assert main(["score", "made", "--first-seed", seed, *strict]) == status
    assert ("seed 5, v07" in capsys.readouterr().out) == (seed == "5")
    assert len(work) == 1


@pytest.mark.usefixtures("work")
def test_json_and_csv_are_written_and_compared_with(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    before, table = tmp_path / "before.json", tmp_path / "score.csv"
    assert main(["score", "made", "--held-out", "--json", str(before), "--csv", str(table)]) == 0
    kept = json.loads(before.read_text())
    assert (kept["form"], kept["winters"], kept["seeds"]) == (1, ["made"], [1000])
    assert len(kept["vessel_winters"]) == 20
    assert kept["figures"]["watch"]["rows"][1]["caught"] == 20
    with table.open() as text:
        assert len(list(csv.DictReader(text))) == 2 * (len(ROWS) + 3)
    capsys.readouterr()
    assert main(["score", "made", "--first-seed", "3000", "--against", str(before)]) == 0
    out = capsys.readouterr().out
    assert "worse  false, priority warning: count" in out
    assert "0.000 -> 1.000" in out


def test_json_to_standard_output_is_one_object(work: list[Piece], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["score", "made", "--vessels", "3", "--json", "-"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert [line["vessel"] for line in told["vessel_winters"]] == ["v00", "v01", "v02"]
    assert work[0].vessels == 3


@pytest.mark.parametrize("option", ["--json", "--csv"])
def test_a_file_that_cannot_be_written_says_so(
    work: list[Piece], capsys: pytest.CaptureFixture[str], tmp_path: Path, option: str
) -> None:
    assert main(["score", "made", option, str(tmp_path / "nowhere" / "file")]) == 2
    assert "No such file or directory; name a file in a folder that can be written" in capsys.readouterr().err
    assert len(work) == 1


def test_a_file_to_compare_with_is_read_before_the_work(
    work: list[Piece], capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    other = tmp_path / "other.json"
    other.write_text('{"form": 7}')
    assert main(["score", "made", "--against", str(other)]) == 2
    assert "was not written by coldberth score --json" in capsys.readouterr().err
    assert work == []


@pytest.mark.parametrize("number", ["0", "-3", "many"])
def test_seeds_are_counted_from_one(capsys: pytest.CaptureFixture[str], number: str) -> None:
    with pytest.raises(SystemExit) as left:
        main(["score", "made", "--seeds", number])
    assert left.value.code == 2
    assert "--seeds" in capsys.readouterr().err


def test_a_winter_that_fails_names_winter_seed_and_vessel(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object) -> VesselWinter:
        raise ZeroDivisionError("by nought")

    name = next(iter(score.winter_names()))
    (piece, *_) = pieces_of([name], [7], None, None)
    monkeypatch.setattr(score_work, "score_vessel", fails)
    with pytest.raises(ScoringError, match=rf"winter {name}, seed 7, vessel \S+: ZeroDivisionError: by nought"):
        score_piece(piece)


def test_one_job_and_two_give_the_same_lines() -> None:
    name = next(iter(score.winter_names()))
    pieces = [Piece(name, 1, None, 3600, (0,)), Piece(name, 1, None, 3600, (1,))]
    alone, together = dict(done(pieces, 1)), dict(done(pieces, 2))
    assert alone == together
    assert sorted(alone) == [0, 1]
