"""``coldberth device``: what it prints, and what it writes for the broker."""

from contextlib import closing
from pathlib import Path

import pytest
from boats import LAID_UP_MS, boat

from monitor.cli import main
from monitor.fleet import Fleet
from monitor.model.inputs import RecordVersion
from monitor.store.journal import Journal

SOURCE = '[[sources]]\ntopic = "sheds/+/climate"\nvessel = "{2}"\nsensor = "cabin"\nunit = "Cel"\n'


@pytest.fixture
def settings(tmp_path: Path) -> str:
    path = tmp_path / "settings.toml"
    path.write_text(f'[yard]\nid = "quay"\nname = "Quay"\n{SOURCE}')
    with closing(Journal(tmp_path / "coldberth.sqlite")) as journal:
        fleet = Fleet(journal)
        fleet.command(RecordVersion(boat(), LAID_UP_MS, "R. Invented"))
        journal.append(fleet.hand_over())
    return str(path)


def test_a_device_of_a_vessel_gets_its_lines_and_an_example(settings: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["device", "add", "tern", "--settings", settings]) == 0
    out = capsys.readouterr().out
    assert "user:     tern.gateway" in out
    assert "topic write layup/quay/tern/+" in out
    assert "-u tern.gateway -P " in out


def test_the_agent_reads_its_yard_and_the_sources_of_its_settings(
    settings: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["device", "agent", "--into", str(tmp_path), "--settings", settings]) == 0
    assert (tmp_path / "access").read_text().splitlines() == [
        "user agent.quay",
        "topic read layup/quay/+/+",
        "topic read layup/quay/forecast",
        "topic read sheds/+/climate",
        "topic write layup/quay/agent",
        "topic write layup/quay/agent/marker",
        "topic readwrite layup-alerts/quay/#",
    ]
    assert main(["device", "remove", "agent.quay", "--into", str(tmp_path), "--settings", settings]) == 0
    assert (tmp_path / "access").read_text() == ""
    capsys.readouterr()
    assert main(["device", "remove", "agent.quay", "--into", str(tmp_path), "--settings", settings]) == 1
    assert "no user 'agent.quay'" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (["add", "petrel"], "no vessel 'petrel'"),
        (["add", "tern", "--device", "Two #"], "small letters"),
        (["add", "tern", "--into", "/nowhere/at/all"], "cannot be written"),
    ],
)
def test_what_cannot_be_is_said(settings: str, words: list[str], why: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["device", *words, "--settings", settings]) != 0
    assert why in capsys.readouterr().err
