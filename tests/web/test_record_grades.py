"""Who sees the record's form: engineers change it, the yard looks, owners see nothing of it."""

from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import httpx
import pytest
from filled_form import FilledForm
from yards import Yard, record

from monitor.model.access import Account, Grade
from monitor.model.vessel import Person
from monitor.store.access import AccessFile
from monitor.web import Deps
from monitor.web.door import wall_ms

Client = Callable[[Grade], httpx.Client]
PATHS = ("/vessels/new", "/vessels/fern-island/record", "/vessels/fern-island/record/card",
         "/vessels/fern-island/record/versions", "/vessels/fern-island/record/sensors/float/remove")  # fmt: skip


@pytest.fixture
def signed_in(yard: Yard, deps: Deps, tmp_path: Path, ask: Callable[[Deps], httpx.Client]) -> Iterator[Client]:
    owner = Person(name="Olga Invented", email="olga@example.org")
    yard.lay_up(record("fern-island", "Fern Island", owner=owner))
    with closing(AccessFile(tmp_path / "access.sqlite", bytes(32))) as access:
        client = ask(replace(deps, access=access))
        client.headers["Origin"] = str(client.base_url).rstrip("/")

        def made(grade: Grade) -> httpx.Client:
            account = Account(f"{grade}@example.org", f"Enid {grade}", grade, "olga@example.org")
            access.put(account, wall_ms())
            session = access.take_up(
                access.invite(account.login, wall_ms()), account, "four wet dogs ashore", wall_ms()
            )
            assert session is not None
            client.cookies.set("coldberth", session)
            return client

        yield made


def test_an_engineer_changes_the_record_under_their_own_name(signed_in: Client, yard: Yard) -> None:
    engineer = signed_in(Grade.ENGINEER)
    form = FilledForm(engineer.get("/vessels/fern-island/record/card").text)
    assert "name" not in form.fields
    engineer.post(form.action, data=form.fields | {"e.keys": "Hook 3", "name": "Somebody Else"})
    stored = yard.view.record("fern-island")
    assert stored is not None
    assert stored.vessel.card.keys == "Hook 3"
    assert stored.actor == "Enid engineer"


def test_the_yard_looks_at_the_record_and_finds_nothing_to_change(signed_in: Client) -> None:
    looker = signed_in(Grade.YARD)
    page = looker.get("/vessels/fern-island/record")
    assert page.status_code == 200
    assert "What nobody will see" in page.text
    assert ">Change</a>" not in page.text
    assert "/record/sensors/new" not in page.text
    assert looker.get("/vessels/fern-island/record/card").status_code == 403
    assert looker.post("/vessels/new", data={"e.name": "X"}).status_code == 403


def test_an_owner_sees_nothing_of_the_form_of_their_own_boat(signed_in: Client) -> None:
    owner = signed_in(Grade.OWNER)
    assert owner.get("/vessels/fern-island").status_code == 200
    assert "/record" not in owner.get("/vessels/fern-island").text
    assert [owner.get(path).status_code for path in PATHS] == [403] * len(PATHS)
