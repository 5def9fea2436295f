"""``coldberth vessel move`` where no agent runs: her place, the warnings, and her bilge zero."""

from contextlib import closing
from pathlib import Path

import pytest
from boats import LAID_UP_MS, boat

from monitor.cli import main
from monitor.fleet import Fleet
from monitor.model.inputs import RecordVersion
from monitor.model.vessel import Mode, Vessel
from monitor.store.journal import Journal
from monitor.store.view import JournalView


@pytest.fixture
def settings(tmp_path: Path) -> str:
    path = tmp_path / "settings.toml"
    path.write_text('[yard]\nid = "quay"\nname = "Quay"\n')
    with closing(Journal(tmp_path / "coldberth.sqlite")) as journal:
        fleet = Fleet(journal)
        for made in (boat(mode="ashore bung out"), boat(id="gannet", name="Gannet", plot="B9")):
            fleet.command(RecordVersion(made, LAID_UP_MS, "R. Invented"))
        journal.append(fleet.hand_over())
    return str(path)


def tern(settings: str) -> Vessel:
    with closing(JournalView(Path(settings).with_name("coldberth.sqlite"))) as view:
        stored = view.record("tern")
    assert stored is not None
    return stored.vessel


def test_a_boat_is_moved_to_another_plot_and_wants_her_zero(settings: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["vessel", "move", "tern", "--plot", "C1", "--by", "Anna", "--settings", settings]) == 0
    out = capsys.readouterr().out
    assert out.splitlines() == [
        "tern: Tern, plot C1, ashore bung out",
        "Bilge: its zero is to be set anew; until then its level may be wrong",
    ]
    moved = tern(settings)
    assert (moved.plot, moved.mode, moved.bilges[0].zero_wanted) == ("C1", Mode.ASHORE_BUNG_OUT, True)


def test_a_taken_plot_and_a_bung_out_afloat_are_refused_until_somebody_is_sure(
    settings: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["vessel", "move", "tern", "--plot", "B9", "--settings", settings]) == 1
    assert "Gannet stands at plot B9 by her record. Look, then say --sure." in capsys.readouterr().err
    afloat = ["vessel", "move", "tern", "--berth", "N1", "--mode", "afloat laid up", "--settings", settings]
    assert main(afloat) == 1
    assert "her bung is out" in capsys.readouterr().err
    assert tern(settings).plot == "B4"
    assert main([*afloat, "--sure"]) == 0
    assert (tern(settings).berth, tern(settings).plot) == ("N1", None)


def test_a_place_that_does_not_fit_and_a_boat_that_is_not_there_are_named(
    settings: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["vessel", "move", "tern", "--berth", "N1", "--settings", settings]) == 1
    assert "a vessel ashore needs a plot" in capsys.readouterr().err
    assert main(["vessel", "move", "petrel", "--plot", "C1", "--settings", settings]) == 2
    assert "no vessel 'petrel'" in capsys.readouterr().err
