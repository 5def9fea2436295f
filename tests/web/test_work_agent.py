"""The lay-up's work through the real agent: its own lists from the settings, a job with a photo, a restart."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx
import pytest
from boats import LAID_UP_MS, boat
from fixtures_broker import free_port
from photographed import photo_bytes

from monitor.agent import Agent
from monitor.cli import main
from monitor.fleet import Fleet
from monitor.model.inputs import RecordVersion
from monitor.record.work_list_files import shipped, work_lists
from monitor.settings import read_settings
from monitor.store.journal import Journal

DOCS = Path(__file__).parents[2] / "deploy" / "docs" / "lay_up.md"
SETTINGS = """
[yard]
id = "quay"
name = "Quay"
work_lists = "lists"
[broker]
host = "127.0.0.1"
port = {broker}
[web]
port = {web}
"""


def example() -> str:
    """Give the example of a yard's own list from the page."""
    return next(
        block for block in re.findall(r"```toml\n(.*?)```", DOCS.read_text(), re.DOTALL) if "leave_out" in block
    )


@pytest.fixture
def settings(tmp_path: Path) -> Path:
    (tmp_path / "lists").mkdir()
    (tmp_path / "lists" / "own.toml").write_text(example())
    path = tmp_path / "settings.toml"
    path.write_text(SETTINGS.format(broker=free_port(), web=free_port()))
    journal = Journal(tmp_path / "coldberth.sqlite")
    fleet = Fleet(journal)
    fleet.command(RecordVersion(boat(), LAID_UP_MS, "R. Invented"))
    journal.append(fleet.hand_over())
    journal.close()
    return path


@contextmanager
def running(settings: Path) -> Iterator[httpx.Client]:
    agent = Agent(read_settings(settings))
    agent.start()
    try:
        with httpx.Client(base_url=agent.address, follow_redirects=True, timeout=30) as client:
            yield client
    finally:
        agent.stop()


def test_the_example_of_the_page_does_what_the_page_says(settings: Path) -> None:
    lists = work_lists(settings.parent / "lists")
    assert lists.job("kit-raft") is None
    assert lists.job("fuel-portable-tanks") is None
    isolator, piano = lists.job("battery-isolated"), lists.job("piano-covered")
    assert isolator is not None
    assert piano is not None
    assert (isolator.system, isolator.what) == ("Batteries", "Isolator off, key on the board in the office")
    assert (piano.system, piano.readings[0].unit) == ("Saloon piano", "% RH")
    assert len(list(lists.jobs())) == len(list(shipped().jobs())) - 1  # two left out, one added


def test_a_job_with_a_photo_is_kept_by_the_agent_and_there_after_a_restart(settings: Path) -> None:
    page = "/vessels/tern/work/battery-isolated"
    with running(settings) as client:
        assert "Saloon piano" in client.get("/vessels/tern/work").text
        assert "Isolator off, key on the board" in client.get(page).text
        sent = {"end": "done", "by": "Enid Invented", "seen": "", "leaves": "yes", "item": "Isolator is off"}
        photo = [("photos", ("a.jpg", photo_bytes(), "image/jpeg"))]
        saved = client.post(page, data=sent | {"due": "after launch"}, files=photo)
        assert saved.status_code == 200, saved.text
    with running(settings) as client:
        job = next(
            job for job in client.get("/api/vessels/tern/work").json()["jobs"] if job["id"] == "battery-isolated"
        )
        assert job["open_items"][0]["what"] == "Isolator is off"
        kept = client.get(f"/vessels/tern/photos/{job['said']['photos'][0]}")
        assert kept.headers["content-type"] == "image/jpeg"
    assert main(["check", "--settings", str(settings)]) == 0


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("leave_out = ['kit-rafft']", "own.toml: leave_out: there is no job 'kit-rafft'"),
        ("[[systems]]\nid = 'fuel'\nnam = 'Fuel'", "own.toml: systems.0.nam: unknown key"),
        ("leave_out = [", "own.toml: not TOML"),
    ],
)
def test_a_broken_list_ends_the_start_with_file_key_and_reason(
    settings: Path, capsys: pytest.CaptureFixture[str], text: str, says: str
) -> None:
    (settings.parent / "lists" / "own.toml").write_text(text)
    assert main(["run", "--settings", str(settings)]) == 2
    assert says in capsys.readouterr().err


def test_a_folder_that_is_not_there_is_said(settings: Path, capsys: pytest.CaptureFixture[str]) -> None:
    settings.write_text(settings.read_text().replace('"lists"', '"lits"'))
    assert main(["run", "--settings", str(settings)]) == 2
    assert "[yard] work_lists names it, and there is no such folder" in capsys.readouterr().err
