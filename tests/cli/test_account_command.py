"""``coldberth account``: who may sign in, written beside a real journal."""

import re
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from boats import LAID_UP_MS, boat

from monitor.cli import main
from monitor.fleet import Fleet
from monitor.model.access import Account, Grade, Means
from monitor.model.inputs import RecordVersion
from monitor.store.access import open_access
from monitor.store.journal import Journal

NOW = 1_700_000_000_000
GOOD = "four wet dogs ashore"
Said = Callable[..., tuple[int, str, str]]


@pytest.fixture
def said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Said:
    settings = tmp_path / "settings.toml"
    settings.write_text(
        'people = [{ id = "anna", name = "Anna Invented", email = "anna@yard.example" }]\n'
        '[yard]\nid = "quay"\nname = "Quay"\n[web]\naddress = "https://boats.yard.example"\n'
    )

    def run(*words: str) -> tuple[int, str, str]:
        status = main(["account", *words, "--settings", str(settings)])
        out, err = capsys.readouterr()
        return status, out, err

    return run


def secret_in(out: str, way: str) -> str:
    found = re.search(rf"https://boats\.yard\.example/{way}/(\S+)", out)
    assert found is not None, out
    return found[1]


def test_one_of_the_settings_people_is_added_under_their_name_and_joins_by_the_invitation(
    said: Said, tmp_path: Path
) -> None:
    status, out, _ = said("add", "ANNA", "--grade", "manager")
    assert status == 0
    assert "anna: Anna Invented, manager" in out
    with closing(open_access(tmp_path / "coldberth.sqlite")) as access:
        assert (
            access.take_up(secret_in(out, "join"), Account("anna", "Anna Invented", Grade.MANAGER), GOOD, NOW)
            is not None
        )
    assert "has set no password" not in said("list")[1]
    assert "join" not in said("add", "anna", "--grade", "yard")[1]  # who has a password needs no invitation
    assert "anna" in said("list")[1]


def test_a_beginning_of_a_name_is_nobody_of_the_settings(said: Said) -> None:
    for part in ("ann", "an", "invented"):
        status, _, err = said("add", part, "--grade", "yard")
        assert status == 1, part
        assert f"{part} is none of the settings' people" in err
    assert "anna: Anna Invented, yard" in said("add", "anna  INVENTED", "--grade", "yard")[1]
    assert "an: An Other, yard" in said("add", "an", "--grade", "yard", "--name", "An Other")[1]


def test_an_owner_is_known_by_an_address_and_anybody_else_by_a_name(said: Said) -> None:
    assert said("add", "olga@example.org", "--grade", "owner", "--name", "Olga Invented")[0] == 0
    status, _, err = said("add", "karl", "--grade", "yard")
    assert status == 1
    assert "--name" in err
    status, _, err = said("add", "karl", "--grade", "owner", "--name", "Karl Invented")
    assert status == 1
    assert "--email" in err


def test_a_link_is_for_vessels_of_the_journal_alone(said: Said, tmp_path: Path) -> None:
    status, _, err = said("link", "Olga", "tern")
    assert status == 1
    assert "no vessel 'tern'" in err
    with closing(Journal(tmp_path / "coldberth.sqlite")) as journal:
        fleet = Fleet(journal)
        fleet.command(RecordVersion(boat(), LAID_UP_MS, "R. Invented"))
        journal.append(fleet.hand_over())
    _, out, _ = said("link", "Olga", "tern", "--days", "30")
    with closing(open_access(tmp_path / "coldberth.sqlite")) as access:
        known = access.known(secret_in(out, "in"), NOW)
    assert known is not None
    assert (known.grade, known.means, known.vessels) == (Grade.OWNER, Means.LINK, frozenset({"tern"}))


def test_a_token_is_listed_by_its_id_and_ended_by_it(said: Said, tmp_path: Path) -> None:
    said("add", "anna", "--grade", "engineer")
    token = said("token", "anna", "weather mast")[1].splitlines()[0]
    listed = said("list")[1]
    assert token not in listed
    found = re.search(r"(\w{8})  token +weather mast \(anna\)", listed)
    assert found is not None
    assert said("revoke", found[1])[0] == 0
    assert said("revoke", found[1])[0] == 1
    with closing(open_access(tmp_path / "coldberth.sqlite")) as access:
        assert access.known(token, NOW) is None


def test_the_last_one_taken_out_is_said_to_open_the_pages(said: Said) -> None:
    said("add", "anna", "--grade", "manager")
    assert "open to whoever uses this machine" in said("remove", "anna")[1]


@pytest.mark.parametrize(
    "words",
    [("invite", "nobody"), ("remove", "nobody"), ("token", "nobody", "x"), ("token", "nobody", "x", "--days", "0")],
)
def test_what_cannot_be_is_refused_in_words(said: Said, words: tuple[str, ...]) -> None:
    status, out, err = said(*words)
    assert status != 0
    assert out == ""
    assert "nobody" in err or "--days" in err
