"""Signing in on a real server: who gets in, what each may do, and what an owner sees."""

import re
import threading
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from urllib.parse import quote

import httpx
import pytest
from fastapi.routing import APIRoute
from yards import NOW_MS, Yard, frost, record

from monitor.model.access import Account, Grade
from monitor.model.alert import AlertChange
from monitor.model.people import Role, YardPerson
from monitor.model.roster import Roster
from monitor.model.scale import Priority
from monitor.model.vessel import Person
from monitor.store.access import DAY_MS, AccessFile
from monitor.web import Deps, create_app
from monitor.web.door import wall_ms
from monitor.web.grades import LEAST, OPEN
from monitor.web.throttle import FREE_TRIES

GOOD = "four wet dogs ashore"
PEOPLE = {
    Grade.MANAGER: Account("maud", "Maud Invented", Grade.MANAGER),
    Grade.ENGINEER: Account("enid", "Enid Invented", Grade.ENGINEER),
    Grade.YARD: Account("yan", "Yan Invented", Grade.YARD),
    Grade.OWNER: Account("olga@example.org", "Olga Invented", Grade.OWNER, "Olga@Example.org"),
}
OWN, OTHERS = "fern-island", ("amber-lark", "barley-moon", "copper-wren", "dove-hollow", "ember-quay", "iris-day")
Client = Callable[..., httpx.Client]


@pytest.fixture
def access(tmp_path: Path) -> Iterator[AccessFile]:
    with closing(AccessFile(tmp_path / "access.sqlite", bytes(32))) as made:
        yield made


@pytest.fixture
def closed(yard: Yard, deps: Deps, access: AccessFile) -> Deps:
    """The small yard, of which one boat is Olga's, with somebody of each grade."""
    yard.lay_up(record(OWN, "Fern Island", owner=Person(name="Olga Invented", email="olga@example.org")))
    for account in PEOPLE.values():
        access.put(account, wall_ms())
    return replace(deps, access=access, address=lambda: "https://boats.example")


@pytest.fixture
def talk(closed: Deps, access: AccessFile, ask: Callable[[Deps], httpx.Client]) -> Iterator[Client]:
    """Give a client that nobody is signed in on, or one with somebody's session."""
    base = str(ask(closed).base_url)
    clients: list[httpx.Client] = []

    def made(grade: Grade | None = None) -> httpx.Client:
        # A browser says where a form comes from.
        client = httpx.Client(base_url=base, headers={"Origin": base, "Accept": "text/html"}, timeout=20)
        clients.append(client)
        if grade is not None:
            account = PEOPLE[grade]
            invitation = access.invite(account.login, wall_ms())
            session = access.take_up(invitation, account, GOOD, wall_ms())
            assert session is not None
            client.cookies.set("coldberth", session)
        return client

    yield made
    for client in clients:
        client.close()


def walked(deps: Deps) -> set[tuple[str, str]]:
    """Every method and path that the app answers."""
    found: set[tuple[str, str]] = set()

    def walk(routes: object, prefix: str) -> None:
        for route in routes:  # type: ignore[attr-defined]
            if isinstance(route, APIRoute):
                path = route.path if route.path.startswith("/api") else prefix + route.path
                found.update((method, path) for method in route.methods)
            elif hasattr(route, "original_router"):
                walk(route.original_router.routes, prefix + route.include_context.prefix)

    walk(create_app(deps).routes, "")
    return found


def filled(path: str, alert: str) -> str:
    values = {
        "vessel_id": "amber-lark", "alert_id": alert, "call_id": "c" * 16, "act": "acknowledge", "at_ms": str(NOW_MS),
        "notice_id": "n" * 24, "item_id": "tag-7", "part": "sensors", "entry": "float", "version": "1",
        "login": "yan", "secret_id": "00000000", "name": "frost", "job_id": "kit-flares", "photo_id": "0" * 64,
    }  # fmt: skip
    return re.sub(r"\{(\w+)\}", lambda match: values[match[1]], path)


def test_every_route_says_who_may_ask_it(closed: Deps) -> None:
    routes = walked(closed)
    assert len(routes) > 50
    said = set(LEAST) | OPEN
    assert routes - said == set()
    assert said - routes == set()


def test_a_stranger_is_let_in_nowhere(talk: Client, yard: Yard) -> None:
    alert = next(a.id for a in yard.alerts.values() if a.vessel == "amber-lark")
    stranger = talk()
    for method, path in sorted(LEAST):
        answer = stranger.request(method, filled(path, alert))
        at = f"{method} {path}"
        if method == "GET" and not path.startswith("/api"):
            assert answer.status_code == 303, at
            assert answer.headers["location"].startswith("/sign-in"), at
        else:
            assert answer.status_code == 401, at
        assert "Amber" not in answer.text, at
    assert yard.commands == []


@pytest.mark.parametrize("grade", list(Grade))
def test_each_grade_gets_what_its_line_says_and_no_more(talk: Client, yard: Yard, grade: Grade) -> None:
    alert = next(a.id for a in yard.alerts.values() if a.vessel == "amber-lark")
    client = talk(grade)
    for (method, path), least in sorted(LEAST.items()):
        if path in {"/sign-out", "/changes"}:
            continue  # the one would end the session, the other never ends
        answer = client.request(method, filled(path, alert))
        at = f"{method} {path}: {answer.status_code}"
        assert (answer.status_code == 403) is not grade.may(least), at
        assert answer.status_code < 500, at


def test_an_owner_finds_of_other_boats_nothing_on_any_route(talk: Client, yard: Yard) -> None:
    owner = talk(Grade.OWNER)
    hers = yard.open_alert(OWN, frost(Priority.WARNING)).id
    other = next(a.id for a in yard.alerts.values() if a.vessel == "amber-lark")
    seen = 0
    for method, path in sorted(LEAST):
        if method != "GET" or path == "/changes":
            continue
        for vessel, alert in ((OWN, hers), ("amber-lark", other)):
            asked = filled(path, alert).replace("amber-lark", vessel)
            for query in ("", "?ids=amber-lark,fern-island", "?open=false&sensor=cabin&vessel=amber-lark"):
                text = owner.get(asked + query).text
                seen += "Fern Island" in text
                for name in OTHERS:
                    if vessel == OWN and not query:
                        assert name not in text, f"{asked}{query}"
                    assert name.replace("-", " ").title() not in text, f"{asked}{query}"
    assert seen > 4
    assert owner.get("/vessels/amber-lark").status_code == 404
    assert owner.get(f"/vessels/{OWN}").status_code == 200
    for act in ("acknowledge", "accept", "confirm", "hand-over", "shelve", "out-of-service"):
        given = {"name": "x", "note": "x", "to": "x", "reason": "x", "until": "+1h"}
        assert owner.post(f"/alerts/{hers}/{act}", data=given).status_code == 403, act
    assert yard.commands == []


def test_a_link_shows_its_boats_alone_changes_nothing_and_ends_when_it_is_revoked(
    talk: Client, access: AccessFile
) -> None:
    link = access.make_link("Olga's sister", frozenset({OWN}), wall_ms(), DAY_MS)
    client = talk()
    came = client.get(f"/in/{link}")
    assert came.status_code == 303
    assert came.headers["location"] == f"/vessels/{OWN}"
    assert client.get(f"/vessels/{OWN}").status_code == 200
    assert client.get("/vessels/amber-lark").status_code == 404
    assert client.get("/round").status_code == 403
    assert access.revoke(access.secrets(wall_ms())[0].id)
    assert client.get(f"/vessels/{OWN}").status_code == 303
    assert talk().get(f"/in/{link}").status_code == 404
    session = access.make_token("yan", "program", wall_ms(), DAY_MS)
    assert talk().get(f"/in/{session}").status_code == 404  # no other secret works there


def test_signing_in_sets_a_cookie_that_scripts_and_other_sites_do_not_get(talk: Client) -> None:
    talk(Grade.YARD)
    client = talk()
    answer = client.post("/sign-in", data={"login": "YAN ", "password": GOOD, "then": "/round"})
    assert answer.status_code == 303
    assert answer.headers["location"] == "/round"
    cookie = answer.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=lax" in cookie
    assert "Secure" not in cookie  # plain HTTP on loopback; with an https address it has it
    page = client.get("/")
    assert "Signed in as Yan Invented" in page.text
    assert client.post("/sign-out").status_code == 303
    assert client.get("/").status_code == 303


def test_over_tls_the_cookie_goes_over_nothing_else(
    closed: Deps, access: AccessFile, ask: Callable[[Deps], httpx.Client]
) -> None:
    access.take_up(access.invite("yan", wall_ms()), PEOPLE[Grade.YARD], GOOD, wall_ms())
    client = ask(replace(closed, over_tls=True))
    answer = client.post("/sign-in", data={"login": "yan", "password": GOOD}, follow_redirects=False)
    assert "Secure" in answer.headers["set-cookie"]


@pytest.mark.parametrize("then", ["//elsewhere.example", "https://elsewhere.example", "/\\elsewhere", "/%2f/elsewhere"])
def test_signing_in_leads_nowhere_else(talk: Client, then: str) -> None:
    talk(Grade.YARD)
    answer = talk().post("/sign-in", data={"login": "yan", "password": GOOD, "then": then})
    assert answer.headers["location"] in {"/", "/%2f/elsewhere"}
    assert not answer.headers["location"].startswith(("//", "http"))


def test_a_wrong_password_and_a_wrong_login_are_told_alike_and_tries_come_to_wait(talk: Client) -> None:
    talk(Grade.YARD)
    client = talk()
    said = {
        client.post("/sign-in", data={"login": login, "password": "a guess of fifteen"}).text.replace(login, "")
        for login in ("yan", "nobody")
    }
    assert len(said) == 1
    for _ in range(FREE_TRIES - 1):
        answer = client.post("/sign-in", data={"login": "yan", "password": "a guess of fifteen"})
        assert answer.status_code == 401
    waits = client.post("/sign-in", data={"login": "yan", "password": GOOD})
    assert waits.status_code == 429
    assert int(waits.headers["retry-after"]) >= 1


def test_what_somebody_does_is_done_in_their_own_name(talk: Client, yard: Yard) -> None:
    alert = next(a.id for a in yard.alerts.values() if a.vessel == "amber-lark")
    client = talk(Grade.YARD)
    assert 'name="name" value="Yan Invented"' in client.get("/vessels/amber-lark").text
    client.post(f"/alerts/{alert}/acknowledge", data={"name": "Maud Invented"})
    assert [command.actor for command in yard.commands] == ["Yan Invented"]  # type: ignore[union-attr]


def test_a_form_of_another_site_and_one_of_nowhere_are_refused(talk: Client, yard: Yard) -> None:
    alert = next(a.id for a in yard.alerts.values() if a.vessel == "amber-lark")
    for headers in ({"Origin": "https://elsewhere.example"}, {"Sec-Fetch-Site": "cross-site"}, {}):
        client = talk(Grade.YARD)
        client.headers.pop("Origin")
        client.headers.update(headers)
        assert client.post(f"/alerts/{alert}/acknowledge", data={"name": "x"}).status_code == 403, headers
    assert yard.commands == []


def test_a_program_asks_with_a_token_and_a_calendar_with_it_as_its_password(talk: Client, access: AccessFile) -> None:
    token = access.make_token("yan", "calendar", wall_ms(), DAY_MS)
    client = talk()
    assert client.get("/api/vessels", headers={"Authorization": f"Bearer {token}"}).status_code == 200
    assert client.get("/calendar.ics", auth=("yan", token)).status_code == 200
    assert client.get("/api/vessels", headers={"Authorization": f"Bearer {token}x"}).status_code == 401
    assert client.get("/api/vessels", headers={"Authorization": "Basic !!"}).status_code == 401


def test_whoever_is_invited_sets_a_password_on_the_page_and_is_in(talk: Client, access: AccessFile) -> None:
    client, invitation = talk(), access.invite("enid", wall_ms())
    assert "Enid Invented" in client.get(f"/join/{invitation}").text
    apart = client.post(f"/join/{invitation}", data={"password": GOOD, "again": GOOD + "!"})
    assert "not the same" in apart.text
    short = client.post(f"/join/{invitation}", data={"password": "short", "again": "short"})
    assert "at least 15" in short.text
    assert client.post(f"/join/{invitation}", data={"password": GOOD, "again": GOOD}).status_code == 303
    assert "Signed in as Enid Invented" in client.get("/").text
    assert client.get(f"/join/{invitation}").status_code == 410


def test_the_first_manager_joins_and_from_then_on_the_pages_are_closed(
    deps: Deps, access: AccessFile, ask: Callable[[Deps], httpx.Client]
) -> None:
    client = ask(replace(deps, access=access))
    assert client.get("/round").status_code == 200
    invitation = access.invite_first(wall_ms())
    chosen = {"login": "maud", "name": "Maud Invented", "password": GOOD, "again": GOOD}
    assert "Give a login" in client.post(f"/join/{invitation}", data={**chosen, "login": " "}).text
    assert client.post(f"/join/{invitation}", data=chosen).status_code == 200
    assert client.get("/people").status_code == 200
    client.cookies.clear()
    assert client.get("/api/vessels").status_code == 401


def test_where_others_reach_it_nobody_gets_in_without_an_account(
    deps: Deps, access: AccessFile, ask: Callable[[Deps], httpx.Client]
) -> None:
    assert ask(replace(deps, access=access, open_here=False)).get("/api/vessels").status_code == 401


def test_a_manager_lets_people_in_gives_links_and_ends_them(talk: Client, access: AccessFile) -> None:
    client = talk(Grade.MANAGER)
    made = client.post("/people", data={"login": "Karl", "name": "Karl Invented", "grade": "yard"})
    assert "https://boats.example/join/" in made.text
    assert "/join/" not in client.get("/people").text
    link = client.post("/people/links", data={"name": "Olga", "vessels": [OWN]})
    found = re.search(r"https://boats\.example/in/([\w-]+)", link.text)
    assert found is not None
    assert access.known(found[1], wall_ms()) is not None
    wrong = client.post("/people", data={"login": "x", "name": "", "grade": "king"})
    assert wrong.status_code == 422
    assert client.post("/people/karl/remove").status_code == 303
    assert client.post("/people/maud/remove").status_code == 409
    kept = next(one for one in access.secrets(wall_ms()) if one.kind == "link")
    assert client.post(f"/people/secrets/{kept.id}/revoke").status_code == 303
    assert access.known(found[1], wall_ms()) is None


def test_no_secret_stands_on_an_error_page(talk: Client) -> None:
    client = talk()
    for path in ("/join/my-secret-invitation", "/in/my-secret-link", "/a/my-secret-token"):
        assert "my-secret" not in client.get(path).text, path


def test_whoever_signed_in_is_not_made_somebody_of_the_settings_and_their_grade_decides(
    closed: Deps, access: AccessFile, ask: Callable[[Deps], httpx.Client], yard: Yard
) -> None:
    """Mo of the yard is not Mona Manager, and Kai can act though two of the settings' people begin so."""
    people = (
        YardPerson(id="mona", name="Mona Manager", roles=(Role.MANAGER,)),
        YardPerson(id="kai-a", name="Kai Abel"),
        YardPerson(id="kai-b", name="Kai Berg"),
    )
    base = str(ask(replace(closed, roster=Roster(people))).base_url)
    alert = next(a.id for a in yard.alerts.values() if a.vessel == "amber-lark")
    for login, name, grade, status in (
        ("mo", "Mo", Grade.YARD, 409),
        ("mona-2", "Mona Manager", Grade.YARD, 409),
        ("kai", "Kai", Grade.MANAGER, 200),
    ):
        account = Account(login, name, grade)
        access.put(account, wall_ms())
        token = access.make_token(login, "test", wall_ms(), DAY_MS)
        asked = f"{base}/api/alerts/{alert}/out-of-service"
        headers = {"Authorization": f"Bearer {token}"}
        answer = httpx.post(asked, json={"name": "x", "reason": "on order"}, headers=headers)
        assert answer.status_code == status, answer.text
    assert [(type(c).__name__, c.actor) for c in yard.commands] == [("TakeOut", "Kai")]  # type: ignore[union-attr]


def test_the_last_manager_can_neither_be_taken_out_nor_made_less(talk: Client, access: AccessFile) -> None:
    client = talk(Grade.MANAGER)
    access.put(Account("next", "Next Invented", Grade.MANAGER), wall_ms())  # has set no password yet
    for login in ("maud", "Maud", " MAUD "):
        assert client.post(f"/people/{quote(login)}/remove").status_code == 409
    lesser = {"login": "Maud", "name": "Maud Invented", "grade": "yard"}
    assert client.post("/people", data=lesser).status_code == 409
    assert access.take_up(access.invite("next", wall_ms()), access.accounts()[0], GOOD, wall_ms()) is None
    joined = next(one for one in access.accounts() if one.login == "next")
    assert access.take_up(access.invite("next", wall_ms()), joined, GOOD, wall_ms()) is not None
    assert client.post("/people/Maud/remove").status_code == 303


@pytest.mark.parametrize("says", ["X-Forwarded-For", "Forwarded", "X-Real-IP", "Via"])
def test_a_proxy_on_this_machine_opens_nothing(
    deps: Deps, access: AccessFile, ask: Callable[[Deps], httpx.Client], says: str
) -> None:
    client = ask(replace(deps, access=access))
    assert client.get("/api/vessels").status_code == 200
    assert client.get("/api/vessels", headers={says: "203.0.113.9"}).status_code == 401
    machine = {"Authorization": f"Bearer {bytes(32).hex()}"}
    access.put(PEOPLE[Grade.MANAGER], wall_ms())
    assert client.get("/api/vessels", headers=machine).status_code == 200
    assert client.get("/api/vessels", headers={**machine, says: "203.0.113.9"}).status_code == 401


def test_strangers_who_try_do_not_keep_the_yard_from_signing_in(talk: Client) -> None:
    talk(Grade.YARD)
    base = str(talk().base_url)
    over = threading.Event()

    def guess(number: int) -> None:
        with httpx.Client(base_url=base, headers={"Origin": base}, timeout=20) as client:
            tried = 0
            while not over.is_set() and tried < 3:  # past so many from one address nothing is weighed any more
                client.post("/sign-in", data={"login": f"x{number}-{tried}", "password": "a guess of fifteen"})
                tried += 1

    guessing = [threading.Thread(target=guess, args=(number,)) for number in range(6)]
    for thread in guessing:
        thread.start()
    answer = talk().post("/sign-in", data={"login": "yan", "password": GOOD})
    over.set()
    for thread in guessing:
        thread.join()
    assert answer.status_code == 303


def test_strangers_hear_whether_it_runs_and_the_yard_what_is_wrong(talk: Client, yard: Yard) -> None:
    yard.health = replace(yard.health, troubles=("535 user boats@example.org",), delays=("Mails are not sent",))
    assert talk().get("/healthz").json() == {"ok": False}
    told = talk(Grade.YARD).get("/healthz").json()
    assert "535" in str(told["reasons"])
    assert told["delays"] == ["Mails are not sent"]
    assert talk(Grade.OWNER).get("/healthz").json() == {"ok": False}


def test_the_live_line_ends_for_whoever_is_shut_out(talk: Client, access: AccessFile, yard: Yard) -> None:
    client = talk(Grade.YARD)
    with client.stream("GET", "/changes", headers={"Accept": "text/event-stream"}) as line:
        lines = line.iter_lines()
        assert next(lines) == "event: clock"
        access.remove("yan")
        yard.changes.publish(yard.seq + 1, {"amber-lark"})
        assert "amber-lark" not in "".join(lines)


def test_a_link_takes_nobodys_session_from_them(talk: Client, access: AccessFile) -> None:
    client, link = talk(Grade.YARD), access.make_link("Olga", frozenset({OWN}), wall_ms(), DAY_MS)
    assert client.get(f"/in/{link}").headers["location"] == f"/vessels/{OWN}"
    assert client.get("/round").status_code == 200


def test_an_owner_takes_on_what_is_handed_to_them_and_their_page_offers_nothing_else(talk: Client, yard: Yard) -> None:
    hers = yard.open_alert(OWN, frost(Priority.WARNING))
    owner = talk(Grade.OWNER)
    assert 'class="act-form"' not in owner.get(f"/vessels/{OWN}").text
    hers.offered_to = "Olga Invented"
    yard.happens(hers, AlertChange.HANDED_OVER, yard.now_ms, "Yan Invented")
    page = owner.get(f"/vessels/{OWN}").text
    assert page.count('class="act-form"') == 1
    assert f'action="/alerts/{hers.id}/accept"' in page
    assert owner.post(f"/alerts/{hers.id}/accept", data={"name": "x"}).status_code == 303
    assert owner.post(f"/alerts/{hers.id}/hand-over", data={"name": "x", "to": "y"}).status_code == 403
    assert [(type(c).__name__, c.actor) for c in yard.commands] == [("Accept", "Olga Invented")]  # type: ignore[union-attr]
