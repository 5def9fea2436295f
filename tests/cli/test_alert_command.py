"""``coldberth alert``: over a journal that nobody writes, and through an agent that runs."""

import re
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from boats import HOUR, LAID_UP_MS, MINUTE, boat
from fixtures_broker import Broker, free_port

from monitor.agent import Agent
from monitor.cli import main
from monitor.fleet import Fleet
from monitor.model.alert import Alert
from monitor.model.inputs import RecordVersion
from monitor.model.parcel import Parcel, RawReading
from monitor.model.scale import AlertState
from monitor.settings import read_settings
from monitor.store.journal import Journal
from monitor.store.lock import WriterLock
from monitor.store.view import JournalView
from monitor.telling import Telling

SETTINGS = """
people = [
  {{ id = "maud", name = "Maud Farrier", email = "maud@yard.example", roles = ["manager"] }},
  {{ id = "joss", name = "Joss Reed", email = "joss@yard.example" }},
]
[yard]
id = "quay"
name = "Quay"
duty = [{{ name = "Anna Tolley", email = "anna@yard.example" }}]
[yard.calendar]
zone = "Europe/London"
[journal]
clock = "stream"
[broker]
host = "127.0.0.1"
port = {broker}
[web]
port = {web}
[mail]
host = "127.0.0.1"
port = {mail}
security = "none"
sender = "coldberth@yard.example"
"""
NOW_MS = LAID_UP_MS + 2 * HOUR  # 11:00 on 1 November 2013 in London


class Quay:
    """Settings and a journal with one boat that has water at her float."""

    def __init__(self, folder: Path, broker_port: int = 1, *, told: bool = True) -> None:
        self.settings = folder / "settings.toml"
        self.settings.write_text(SETTINGS.format(broker=broker_port, web=free_port(), mail=free_port()))
        self.path = read_settings(self.settings).journal.path
        with closing(Journal(self.path)) as journal:
            fleet = Fleet(journal)
            fleet.command(RecordVersion(boat(), LAID_UP_MS, "R. Invented"))
            fleet.clock(NOW_MS - MINUTE)
            at_ms = NOW_MS - MINUTE
            wet = [RawReading("tern", "bilge-float", 1.0, at_ms)]
            fleet.take(Parcel(0, 0, 0, retained=False, topic="", readings=wet), at_ms, caught_up=True)
            fleet.clock(NOW_MS)
            batch = fleet.hand_over()
            if told:
                settings = read_settings(self.settings)
                Telling(settings.roster, settings.telling, settings.yard.calendar).take(batch, fleet.vessel)
            journal.append(batch)
        self.view = JournalView(self.path)

    def alert(self) -> Alert:
        (found,) = [a for a in self.view.alerts(open_only=False) if a.rule == "bilge"]
        return found

    def run(self, *words: str) -> int:
        return main(["alert", *words, "--settings", str(self.settings)])


@pytest.fixture
def quay(tmp_path: Path) -> Iterator[Quay]:
    made = Quay(tmp_path)
    yield made
    made.view.close()


def test_open_alerts_are_listed_worst_first(quay: Quay, capsys: pytest.CaptureFixture[str]) -> None:
    assert quay.run("list") == 0
    first = capsys.readouterr().out.splitlines()[0]
    assert re.match(rf"{quay.alert().id}  Act now        Tern, plot B4: .+", first)
    assert quay.run("list", "--vessel", "gull") == 1
    assert "no vessel 'gull'" in capsys.readouterr().err


def test_an_alert_is_shown_by_how_its_id_begins(quay: Quay, capsys: pytest.CaptureFixture[str]) -> None:
    assert quay.run("show", quay.alert().id[:6]) == 0
    shown = capsys.readouterr().out
    for part in ("Act now", "Tern, plot B4", "Do first:", "What happened so far:", "Opened:"):
        assert part in shown


def test_what_people_do_goes_into_the_journal_where_no_agent_runs(
    quay: Quay, capsys: pytest.CaptureFixture[str]
) -> None:
    alert = quay.alert().id
    assert quay.run("acknowledge", alert, "--by", "Anna Tolley", "--note", "on my way") == 0
    assert capsys.readouterr().out == (
        f"{alert}  Tern, plot B4: Bilge: the float switch is up\n  Seen by Anna Tolley 11:00. Anna Tolley has it.\n"
    )
    assert quay.alert().acknowledged_by == "Anna Tolley"
    assert quay.run("hand-over", alert, "--by", "anna", "--to", "JOSS") == 0
    assert quay.alert().offered_to == "Joss Reed"
    assert quay.run("accept", alert, "--by", "joss") == 0
    assert quay.alert().has_it == "Joss Reed"
    dry = ("confirm", alert, "--by", "Joss Reed", "--nothing-wrong", "--note", "bilge dry, float held up by a rag")
    capsys.readouterr()
    assert quay.run(*dry) == 0
    assert "It stands on: what was heard last says that it is still so." in capsys.readouterr().out
    assert quay.alert().confirmed_by == "Joss Reed"
    assert quay.run("shelve", alert, "--by", "Joss Reed", "--reason", "new float comes", "--until", "14:30") == 0
    assert (quay.alert().state, quay.alert().aside_until_ms) == (AlertState.SHELVED, NOW_MS + round(3.5 * HOUR))
    assert quay.run("bring-back", alert, "--by", "Joss Reed") == 0
    assert quay.alert().state is AlertState.UNACKNOWLEDGED
    changes = [event.change.value for event in quay.view.events(alert)]
    assert changes == ["opened", "acknowledged", "handed over", "accepted", "confirmed", "shelved", "back"]


def test_people_are_told_of_it_though_no_agent_runs(quay: Quay) -> None:
    assert quay.run("acknowledge", quay.alert().id, "--by", "Anna Tolley") == 0
    (call,) = quay.view.calls(open_only=True)
    assert call.accepted_by == "Anna Tolley"


def test_a_journal_that_no_agent_has_told_of_yet_is_left_so(tmp_path: Path) -> None:
    quay = Quay(tmp_path, told=False)
    assert quay.run("acknowledge", quay.alert().id, "--by", "Anna Tolley") == 0
    with closing(Journal(quay.path)) as journal:
        assert journal.telling() is None
    quay.view.close()


def test_only_a_manager_takes_it_out_of_service(quay: Quay, capsys: pytest.CaptureFixture[str]) -> None:
    out = ("out-of-service", quay.alert().id, "--reason", "float is broken", "--by")
    assert quay.run(*out, "Anna Tolley") == 1
    assert "Anna Tolley is no manager by the settings" in capsys.readouterr().err
    assert quay.run(*out, "MAUD") == 0
    assert "Nobody is told of it until a manager brings it back." in capsys.readouterr().out
    assert quay.run("bring-back", quay.alert().id, "--by", "Anna Tolley") == 1
    assert quay.run("bring-back", quay.alert().id, "--by", "Maud Farrier") == 0


def test_people_aboard_and_its_end(quay: Quay, capsys: pytest.CaptureFixture[str]) -> None:
    assert quay.run("aboard", "tern", "people", "--until", "+2h", "--by", "Joss Reed") == 0
    (now,) = quay.view.vessels_now()
    assert now.aboard is not None
    assert (now.aboard.actor, now.aboard.until_ms) == ("Joss Reed", NOW_MS + 2 * HOUR)
    assert quay.run("ashore", "tern", "--by", "Joss Reed") == 0
    assert quay.view.vessels_now()[0].aboard is None
    assert quay.run("aboard", "gull", "lift", "--until", "+2h", "--by", "Joss Reed") == 1
    assert "no vessel 'gull'" in capsys.readouterr().err


def test_a_slip_of_a_name_does_not_end_what_is_done_aboard(quay: Quay, capsys: pytest.CaptureFixture[str]) -> None:
    assert quay.run("aboard", "tern", "people", "--until", "+2h", "--by", "Rigger Bell") == 0
    assert quay.run("ashore", "tern", "--by", "jos") == 1
    assert "--by: jos is not one of the settings' people, and Rigger Bell said" in capsys.readouterr().err
    assert quay.view.vessels_now()[0].aboard is not None
    assert quay.run("ashore", "tern", "--by", "rigger bell") == 0
    assert quay.view.vessels_now()[0].aboard is None


def test_who_has_it_takes_it_on_only_once(quay: Quay, capsys: pytest.CaptureFixture[str]) -> None:
    assert quay.run("accept", quay.alert().id, "--by", "joss") == 0
    before = quay.view.last_seq()
    assert quay.run("accept", quay.alert().id, "--by", "Joss Reed") == 1
    assert "Joss Reed has it already: nothing is changed" in capsys.readouterr().err
    assert quay.view.last_seq() == before


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("acknowledge", "{}", "--by", "  "), "--by: Write who you are"),
        (("shelve", "{}", "--by", "Anna", "--reason", "pump", "--until", "soon"), "--until: 'soon' is no time"),
        (("shelve", "{}", "--by", "Anna", "--reason", "pump", "--until", "+13h"), "12 hours at most"),
        (("confirm", "{}", "--by", "Anna"), "Write what you found aboard"),
        (("confirm", "{}", "--by", "Anna", "--nothing-wrong"), "--note: it still stands, and you say that nothing"),
        (
            ("shelve", "{}", "--by", "Anna", "--reason", "pump", "--until", "10:45"),
            "--until: 10:45 is past, it is 10:59",
        ),
        (("bring-back", "{}", "--by", "Anna"), "it is not put aside"),
        (("acknowledge", "0000000000000000", "--by", "Anna"), "there is no alert '0000000000000000'"),
        (("aboard", "tern", "lift", "--until", "+5h", "--by", "Anna"), "4 hours at most"),
        (("hand-over", "{}", "--by", "anna", "--to", "Zoe"), "--to: the settings know nobody called 'Zoe': there is "),
        (("hand-over", "{}", "--by", "anna", "--to", "ANNA"), "--to: Anna Tolley would hand it over to themselves"),
    ],
)
def test_what_cannot_be_done_is_said_and_nothing_is_changed(
    quay: Quay, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], says: str
) -> None:
    before = quay.view.last_seq()
    assert quay.run(*(word.format(quay.alert().id) for word in words)) == 1
    assert says in capsys.readouterr().err
    assert quay.view.last_seq() == before


def test_a_journal_that_is_not_there_is_said(quay: Quay, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    quay.settings.write_text(quay.settings.read_text().replace('clock = "stream"', 'path = "elsewhere.sqlite"'))
    assert quay.run("list") == 2
    assert f"{tmp_path / 'elsewhere.sqlite'}: there is no journal yet" in capsys.readouterr().err


def test_a_journal_that_another_writes_without_pages_is_said(quay: Quay, capsys: pytest.CaptureFixture[str]) -> None:
    lock = WriterLock(quay.path)
    assert quay.run("acknowledge", quay.alert().id, "--by", "Anna Tolley") == 2
    assert "is written by another process" in capsys.readouterr().err
    lock.tell(f"http://127.0.0.1:{free_port()}")
    assert quay.run("acknowledge", quay.alert().id, "--by", "Anna Tolley") == 2
    assert "does not answer" in capsys.readouterr().err
    lock.release()


@pytest.mark.broker
def test_a_running_agent_is_asked(tmp_path: Path, broker: Broker, capsys: pytest.CaptureFixture[str]) -> None:
    quay = Quay(tmp_path, broker.port)
    agent = Agent(read_settings(quay.settings))
    agent.start()
    try:
        alert = quay.alert().id
        assert quay.run("shelve", alert, "--by", "Joss Reed", "--reason", "new float", "--until", "+3d") == 1
        assert "the agent refuses it: an alarm may be put aside for 12 hours at most" in capsys.readouterr().err
        assert quay.run("out-of-service", alert, "--by", "Anna Tolley", "--reason", "broken") == 1
        assert "is no manager" in capsys.readouterr().err
        assert quay.run("acknowledge", alert, "--by", "ANNA", "--note", "on my way") == 0
        assert quay.alert().acknowledged_by == "Anna Tolley"
        assert quay.run("hand-over", alert, "--by", "anna", "--to", "joss") == 0
        assert quay.alert().offered_to == "Joss Reed"
        assert quay.run("aboard", "tern", "wash-down", "--until", "+1h", "--by", "Joss Reed") == 0
        assert quay.run("ashore", "tern", "--by", "Joss Reed") == 0
        (call,) = quay.view.calls(open_only=True)
        assert call.accepted_by == "Anna Tolley"
    finally:
        agent.stop()
        quay.view.close()
