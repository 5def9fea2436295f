"""What owners, and those with an owner's link, find on the pages, and what those who signed in are offered."""

from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import httpx
import pytest
from test_acts import text_of
from watched import DUTY, PEOPLE, WatchedYard
from yards import ZONE, record

from monitor.model.access import Account, Grade
from monitor.model.people import Ladder, Rota, YardPerson
from monitor.model.roster import Roster
from monitor.model.surroundings import YardCalendar
from monitor.model.vessel import Person
from monitor.store.access import DAY_MS, AccessFile
from monitor.telling import Telling
from monitor.web import Deps
from monitor.web.door import wall_ms

Ask = Callable[[Deps], httpx.Client]
As = Callable[[str], httpx.Client]
NOTE = "take it, I have flu"
JACK = YardPerson(id="jack", name="Jack Hale", email="jack@yard.example")
ACCOUNTS = (
    Account("jack", "Jack Hale", Grade.YARD),
    Account("maud", "Maud Farrier", Grade.MANAGER),
    Account("anna", "Anna Tolley", Grade.YARD),
    Account("olga@example.org", "Olga Invented", Grade.OWNER, "olga@example.org"),
)


@pytest.fixture
def wet(tmp_path: Path) -> Iterator[WatchedYard]:
    """Olga's boat with water at her float, which Maud hands to Jack with a note."""
    yard = WatchedYard(tmp_path / "wet.db")
    yard.roster = Roster.of((*PEOPLE, JACK), Rota(), DUTY, ZONE.key)
    yard.telling = Telling(yard.roster, Ladder(), YardCalendar(zone=ZONE.key))
    yard.watch(record("amber-lark", "Amber Lark", owner=Person(name="Olga Invented", email="olga@example.org")))
    yard.sensed("amber-lark", "float", 1.0)
    yard.passes(0.01)
    yield yard
    yard.close()


@pytest.fixture
def access(tmp_path: Path) -> Iterator[AccessFile]:
    with closing(AccessFile(tmp_path / "access.sqlite", bytes(32))) as made:
        for account in ACCOUNTS:
            made.put(account, wall_ms())
        yield made


@pytest.fixture
def deps(wet: WatchedYard, access: AccessFile, cache_dir: Path) -> Deps:
    return wet.deps(cache_dir, access=access, roster=wet.roster)


@pytest.fixture
def signed(deps: Deps, access: AccessFile, ask: Ask) -> Iterator[As]:
    base = str(ask(deps).base_url)
    clients: list[httpx.Client] = []

    def made(login: str) -> httpx.Client:
        token = access.make_token(login, "test", wall_ms(), DAY_MS)
        headers = {"Authorization": f"Bearer {token}", "Accept": "text/html", "Origin": base}
        clients.append(httpx.Client(base_url=base, headers=headers, follow_redirects=True, timeout=20))
        return clients[-1]

    yield made
    for client in clients:
        client.close()


@pytest.fixture
def bilge(wet: WatchedYard) -> str:
    return wet.alert_of("amber-lark", "bilge").id


def article_of(page: str, alert: str) -> str:
    """Give the part of a page that is about one alert."""
    return page.partition(f'id="alert-{alert}"')[2].partition("</article>")[0]


def test_an_owner_reads_who_has_it_and_not_to_board_and_no_steps_figures_or_notes(
    wet: WatchedYard, signed: As, bilge: str
) -> None:
    maud, owner = signed("maud"), signed("olga@example.org")
    assert maud.post(f"/alerts/{bilge}/hand-over", data={"name": "x", "to": "jack", "note": NOTE}).status_code == 200
    assert NOTE in maud.get("/vessels/amber-lark").text
    page = owner.get("/vessels/amber-lark").text
    assert "It has been handed to Jack Hale, who has not accepted it yet. Please do not board." in text_of(page)
    for hidden in (
        NOTE,
        "Do first",
        "Do not<",
        "Likely causes",
        "Figures behind it",
        "Write down a visit",
        "I have it",
    ):
        assert hidden not in page, hidden
    for step in ("Do first", "Likely causes", "Figures behind it", "Write down a visit"):
        assert step in maud.get("/vessels/amber-lark").text, step
    (call,) = wet.view.calls(open_only=True)
    hers = owner.get(f"/calls/{call.id}")
    assert "What you were told" in hers.text
    assert NOTE not in hers.text
    assert "Anna Tolley, by" not in text_of(hers.text)
    assert "Anna Tolley" in text_of(maud.get(f"/calls/{call.id}").text)
    assert "Where to go" in text_of(maud.get(f"/calls/{call.id}").text)
    assert "Where to go" not in text_of(hers.text)  # who is asked not to board
    told = owner.get(f"/api/calls/{call.id}").json()["notices"]
    assert {notice["person"] for notice in told} <= {"Olga Invented"}
    assert len(maud.get(f"/api/calls/{call.id}").json()["notices"]) > len(told)
    assert NOTE not in owner.get(f"/api/alerts/{bilge}").text
    assert NOTE in maud.get(f"/api/alerts/{bilge}").text


def test_an_owner_reads_of_the_watch_only_whether_it_hears(wet: WatchedYard, signed: As) -> None:
    wet.health = replace(wet.health, troubles=("Mail for Anna Tolley waits.",), delays=("The mail server is slow.",))
    owner, maud = signed("olga@example.org"), signed("maud")
    for path in ("/", "/vessels/amber-lark", "/calls"):
        assert "Mail for Anna" in maud.get(path).text, path
        page = owner.get(path).text
        assert "Mail for Anna" not in page, path
        assert "/undelivered" not in page, path
        assert "cannot hear" not in page, path
    wet.health = replace(wet.health, connected=False)
    page = text_of(owner.get("/").text)
    assert "The yard's watch cannot hear at the moment; the yard knows." in page
    assert "broker" not in page


def test_only_who_was_asked_is_offered_to_take_it_on(signed: As, bilge: str) -> None:
    maud, jack, anna = signed("maud"), signed("jack"), signed("anna")
    maud.post(f"/alerts/{bilge}/hand-over", data={"name": "x", "to": "jack"})
    asked = jack.get("/vessels/amber-lark").text
    assert "It is handed to you." in asked
    assert "I take it on" not in article_of(asked, bilge)
    for other in (maud, anna):
        page = other.get("/vessels/amber-lark").text
        assert "Are you Jack Hale?" not in page
        assert "It is handed to you." not in page
        assert "Offered to Jack Hale, who has not said yes yet." in text_of(page)
        assert "<summary>I take it on</summary>" in article_of(page, bilge)
    jack.post(f"/alerts/{bilge}/accept", data={"name": "x"})
    assert "Jack Hale has it." in text_of(anna.get("/vessels/amber-lark").text)


def test_what_is_not_for_an_owner_is_refused_truly_and_with_a_menu(
    signed: As, access: AccessFile, deps: Deps, ask: Ask
) -> None:
    refused = signed("olga@example.org").get("/round")
    assert refused.status_code == 403
    assert "Ask a manager of the yard" in refused.text
    assert "own address" not in refused.text
    assert 'aria-label="Pages"' in refused.text
    assert "Today&#39;s round" not in refused.text
    secret = access.make_link("Tamsin", frozenset({"amber-lark"}), wall_ms(), DAY_MS)
    client = ask(deps)
    client.headers["Authorization"] = f"Bearer {secret}"
    by_link = text_of(client.get("/round", headers={"Accept": "text/html"}).text)
    assert "signed in as Tamsin" not in by_link
    assert "You look by the link that was made for Tamsin" in by_link
    assert "/round" not in client.get("/visits").text


def test_a_manager_sees_what_changed_of_an_account_and_what_was_never_used(
    signed: As, access: AccessFile, ask: Ask, deps: Deps
) -> None:
    access.take_up(access.invite("maud", wall_ms()), ACCOUNTS[1], "four wet dogs ashore", wall_ms())
    maud = signed("maud")
    secret = access.make_link("Tamsin", frozenset({"amber-lark"}), wall_ms(), DAY_MS)
    assert "never used" in maud.get("/people").text.partition("of Tamsin")[2].partition("</li>")[0]
    ask(deps).get("/vessels/amber-lark", headers={"Authorization": f"Bearer {secret}"})
    assert "never used" not in maud.get("/people").text.partition("of Tamsin")[2].partition("</li>")[0]
    page = text_of(maud.post("/people", data={"login": "jack", "name": "Jack Hale", "grade": "engineer"}).text)
    assert "jack: was yard, is engineer now." in page
    new = {"login": "odd@example.org", "name": "Odd", "grade": "owner", "email": "odd@example.org"}
    assert "No boat's record names an owner of odd@example.org" in text_of(maud.post("/people", data=new).text)
    maud.post("/people", data={"login": "o2", "name": "", "grade": "owner", "email": "OLGA@example.org"})
    assert {one.name for one in access.accounts() if one.login == "o2"} == {"Olga Invented"}
