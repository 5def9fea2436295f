"""Links of owners end with who owns the boat; a new password asks whether tokens end."""

from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import httpx
import pytest
from test_acts import text_of
from yards import Yard, record

from monitor.model.access import Account, Grade
from monitor.model.inputs import RecordVersion
from monitor.model.vessel import Person
from monitor.store.access import DAY_MS, AccessFile
from monitor.web import Deps
from monitor.web.door import wall_ms

BOAT = "fern-island"
OLGA = Person(name="Olga Invented", email="olga@example.org")
MAUD = Account("maud", "Maud Farrier", Grade.MANAGER)
PASSWORD = "four wet dogs ashore"  # noqa: S105 - of nobody


@pytest.fixture
def access(tmp_path: Path) -> Iterator[AccessFile]:
    with closing(AccessFile(tmp_path / "access.sqlite", bytes(32))) as made:
        made.put(MAUD, wall_ms())
        yield made


@pytest.fixture
def client(yard: Yard, access: AccessFile, cache_dir: Path, ask: Callable[[Deps], httpx.Client]) -> httpx.Client:
    made = ask(yard.deps(cache_dir, access=access))
    token = access.make_token("maud", "test", wall_ms(), DAY_MS)
    base = str(made.base_url).rstrip("/")
    made.headers.update({"Authorization": f"Bearer {token}", "Accept": "text/html", "Origin": base})
    return made


def owned_by(yard: Yard, owner: Person | None, *boats: str) -> None:
    for boat in boats or (BOAT,):
        made = record(boat, boat.replace("-", " ").title(), owner=owner)
        assert yard.submit(RecordVersion(made, yard.now_ms, "Hanno Brightwell")).result(10) is None


def link_for(client: httpx.Client, *boats: str) -> str:
    page = client.post("/people/links", data={"name": "Olga", "vessels": list(boats or (BOAT,))}).text
    return page.partition("/in/")[2].partition("<")[0]


def by_link(client: httpx.Client, secret: str, path: str) -> httpx.Response:
    return httpx.get(
        client.base_url.join(path), headers={"Authorization": f"Bearer {secret}", "Accept": "text/html"}, timeout=20
    )


def test_a_link_ends_for_a_boat_that_has_another_owner(yard: Yard, client: httpx.Client) -> None:
    owned_by(yard, OLGA)
    link = link_for(client)
    assert by_link(client, link, f"/vessels/{BOAT}").status_code == 200
    owned_by(yard, Person(name="Per Invented", email="per@example.org"))
    for path in (f"/vessels/{BOAT}", f"/vessels/{BOAT}/owner.json", f"/api/vessels/{BOAT}"):
        assert by_link(client, link, path).status_code == 404, path
    gone = httpx.get(client.base_url.join(f"/in/{link}"), headers={"Accept": "text/html"})
    assert gone.status_code == 410
    assert "she has another owner now" in gone.text
    assert f"It no longer shows {BOAT}: another owner since." in text_of(client.get("/people").text)


def test_of_several_boats_it_goes_on_showing_the_others(yard: Yard, client: httpx.Client) -> None:
    owned_by(yard, OLGA, BOAT, "hazel-row")
    link = link_for(client, BOAT, "hazel-row")
    owned_by(yard, None, BOAT)
    assert by_link(client, link, f"/vessels/{BOAT}").status_code == 404
    assert by_link(client, link, "/vessels/hazel-row").status_code == 200


@pytest.mark.parametrize(
    "same",
    [
        Person(name="olga  invented", email="olga@example.org"),
        Person(name="Olga Invented", email="new@example.org"),
        Person(name="O. Invented-Lind", email="OLGA@example.org"),
    ],
)
def test_another_spelling_or_address_of_the_same_owner_ends_nothing(
    yard: Yard, client: httpx.Client, same: Person
) -> None:
    owned_by(yard, OLGA)
    link = link_for(client)
    owned_by(yard, same)
    assert by_link(client, link, f"/vessels/{BOAT}").status_code == 200


def test_a_boat_without_an_owner_on_record_stays_shown_when_she_gets_one(yard: Yard, client: httpx.Client) -> None:
    owned_by(yard, None)
    link = link_for(client)
    owned_by(yard, OLGA)
    assert by_link(client, link, f"/vessels/{BOAT}").status_code == 200


def test_a_new_password_asks_about_tokens_and_ends_them_where_that_is_chosen(
    access: AccessFile, client: httpx.Client
) -> None:
    asking = access.invite("maud", wall_ms())
    page = client.get(f"/join/{asking}").text
    assert "End the tokens of programs that ask as you too: test" in text_of(page)
    assert "checked" not in page
    sent = {"password": PASSWORD, "again": "not the same at all", "ends_tokens": "true"}
    refused = client.post(f"/join/{asking}", data=sent)
    assert refused.status_code == 422
    assert 'value="true" checked' in refused.text
    assert client.get("/people").status_code == 200
    done = client.post(f"/join/{asking}", data=sent | {"again": PASSWORD}, follow_redirects=False)
    assert done.status_code == 303
    client.cookies.clear()
    assert client.get("/people", follow_redirects=False).status_code == 303  # to the sign-in: its token has ended


def test_a_new_password_leaves_tokens_alone_where_nothing_is_chosen(access: AccessFile, client: httpx.Client) -> None:
    sent = {"password": PASSWORD, "again": PASSWORD}
    assert client.post(f"/join/{access.invite('maud', wall_ms())}", data=sent).status_code == 200
    client.cookies.clear()
    assert client.get("/people").status_code == 200
