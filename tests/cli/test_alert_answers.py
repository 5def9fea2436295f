"""What ``coldberth alert`` answers: who has done what, and until when in yard time."""

from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from boats import HOUR
from test_alert_command import NOW_MS, Quay

from monitor.fleet import Fleet
from monitor.model.parcel import Parcel, RawReading
from monitor.store.journal import Journal


def falls_dry(quay: Quay) -> None:
    """Let the float fall, and eight hours pass."""
    with closing(Journal(quay.path)) as journal:
        fleet = Fleet(journal)
        fleet.restore(journal)
        dry = [RawReading("tern", "bilge-float", 0.0, NOW_MS)]
        fleet.take(Parcel(0, 0, 0, retained=False, topic="", readings=dry), NOW_MS, caught_up=True)
        fleet.clock(NOW_MS + 8 * HOUR)
        journal.append(fleet.hand_over())


@pytest.fixture
def quay(tmp_path: Path) -> Iterator[Quay]:
    made = Quay(tmp_path)
    yield made
    made.view.close()


def test_what_is_put_aside_answers_who_did_it_until_when_and_why(
    quay: Quay, capsys: pytest.CaptureFixture[str]
) -> None:
    alert = quay.alert().id
    assert quay.run("shelve", alert, "--by", "JOSS", "--reason", "new float comes", "--until", "14:30") == 0
    assert capsys.readouterr().out.splitlines()[1:] == [
        (
            "  Put aside by Joss Reed until Fri 1 Nov 2013, 14:30, yard time: new float comes."
            " Nobody is told of it until then, unless it gets worse."
        )
    ]
    assert quay.run("list") == 0
    listed = capsys.readouterr().out
    assert listed.lower().count("put aside") == 2  # once as its word, once with who and until when
    assert (listed.count("14:30"), listed.count("Joss Reed")) == (1, 1)
    assert quay.run("show", alert) == 0
    shown = capsys.readouterr().out
    assert shown.startswith(f"{alert}  Put aside (else Act now)  Tern, plot B4\n")
    assert shown.split("What happened so far")[0].count("14:30") == 1
    assert quay.run("bring-back", alert, "--by", "maud") == 0
    assert "Brought back by Maud Farrier: it is told of again." in capsys.readouterr().out


def test_a_visitor_reads_that_the_settings_do_not_know_them(quay: Quay, capsys: pytest.CaptureFixture[str]) -> None:
    assert quay.run("acknowledge", quay.alert().id, "--by", "Zoe Rigger") == 0
    assert "The yard's list of people has no Zoe Rigger" in capsys.readouterr().out
    assert quay.alert().acknowledged_by == "Zoe Rigger"
    assert quay.run("aboard", "tern", "people", "--until", "+2h", "--by", "anna", "--note", "varnish") == 0
    assert capsys.readouterr().out.splitlines() == [
        "Tern, plot B4",
        (
            "  People aboard until Fri 1 Nov 2013, 13:00, yard time, says Anna Tolley: varnish."
            " Her alerts are put aside until then; water at a float or a high mark is told all the same."
        ),
    ]


def test_what_is_confirmed_and_over_says_that_it_has_ended(quay: Quay, capsys: pytest.CaptureFixture[str]) -> None:
    alert = quay.alert().id
    falls_dry(quay)
    assert quay.run("confirm", alert, "--by", "joss", "--note", "hose was off") == 0
    assert "Joss Reed was aboard" in (said := capsys.readouterr().out)
    assert "It has ended with that." in said
    assert quay.run("acknowledge", alert, "--by", "joss") == 1
    assert "this alert has ended already" in capsys.readouterr().err
