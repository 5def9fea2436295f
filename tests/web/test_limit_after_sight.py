"""A limit counts what somebody may see: an owner's one alert is not hidden by those of other boats."""

from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import httpx
import pytest
from told import call_of
from yards import HOUR_MS, Yard, frost, record

from monitor.model.access import Account, Grade
from monitor.model.alert import Alert
from monitor.model.scale import Priority
from monitor.model.vessel import Person
from monitor.store.access import AccessFile
from monitor.web import Deps
from monitor.web.door import wall_ms
from monitor.web.page_call_list import OVER_SHOWN

OWN, OTHER = "fern-island", "amber-lark"
OLGA = Account("olga@example.org", "Olga Invented", Grade.OWNER, "olga@example.org")


@pytest.fixture
def hers(yard: Yard) -> Alert:
    """The oldest alert of the yard, of Olga's boat."""
    yard.lay_up(record(OWN, "Fern Island", owner=Person(name=OLGA.name, email=OLGA.email)))
    return yard.open_alert(OWN, frost(Priority.WARNING), ago_ms=300 * HOUR_MS)


@pytest.fixture
def olga(deps: Deps, hers: Alert, tmp_path: Path, ask: Callable[[Deps], httpx.Client]) -> Iterator[httpx.Client]:
    assert hers.vessel == OWN
    with closing(AccessFile(tmp_path / "access.sqlite", bytes(32))) as access:
        access.put(Account("maud", "Maud Invented", Grade.MANAGER), wall_ms())
        access.put(OLGA, wall_ms())
        session = access.take_up(access.invite(OLGA.login, wall_ms()), OLGA, "four wet dogs ashore", wall_ms())
        assert session is not None
        client = ask(replace(deps, access=access))
        client.cookies.set("coldberth", session)
        yield client


@pytest.mark.parametrize("limit", [1, 3])
def test_the_limit_of_alerts_counts_what_is_seen(olga: httpx.Client, hers: Alert, limit: int) -> None:
    found = olga.get("/api/alerts", params={"limit": limit}).json()
    assert [a["id"] for a in found] == [hers.id]
    assert olga.get("/api/alerts", params={"vessel": OTHER}).json() == []


def test_those_that_ended_count_too_where_they_are_asked_for(olga: httpx.Client, yard: Yard, hers: Alert) -> None:
    own = sorted((a for a in yard.alerts.values() if a.vessel == OWN), key=lambda a: -a.opened_ms)
    assert len(own) > 1
    assert hers in own
    for limit in (1, len(own), 50):
        found = olga.get("/api/alerts", params={"limit": limit, "open": "false"}).json()
        assert [a["id"] for a in found] == [a.id for a in own][:limit]


@pytest.mark.parametrize("limit", [1, 3])
def test_the_limit_of_calls_counts_what_is_seen(olga: httpx.Client, yard: Yard, hers: Alert, limit: int) -> None:
    other = next(a for a in yard.alerts.values() if a.vessel == OTHER)
    yard.told.made += [call_of([other], OTHER, call=f"{n:016x}") for n in range(20)]
    mine = call_of([hers], OWN)
    yard.told.made.append(mine)
    found = olga.get("/api/calls", params={"limit": limit}).json()
    assert [c["id"] for c in found] == [mine.id]


def test_a_call_that_is_over_stands_on_the_page_however_many_others_are_newer(
    olga: httpx.Client, yard: Yard, hers: Alert
) -> None:
    other = next(a for a in yard.alerts.values() if a.vessel == OTHER)
    made = [call_of([other], OTHER, call=f"{n:016x}") for n in range(OVER_SHOWN + 10)] + [call_of([hers], OWN)]
    yard.told.made += [replace(call, ended_ms=yard.now_ms, vessels=()) for call in made]
    page = olga.get("/calls").text
    assert "Fern Island" in page
    assert "Amber Lark" not in page


def test_who_sees_all_gets_the_newest_up_to_the_limit(yard: Yard, hers: Alert, client: httpx.Client) -> None:
    newest = sorted(yard.alerts.values(), key=lambda a: (-a.opened_ms, a.id))
    found = [a["id"] for a in client.get("/api/alerts", params={"limit": 3}).json()]
    assert len(found) == 3
    assert found == [a.id for a in newest if a.is_open][:3]
    assert hers.id not in found
