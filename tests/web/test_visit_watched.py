"""Visits to a boat with water at her float, with the real watch and the journal behind the form."""

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import httpx
import pytest
from watched import WatchedYard, flooded_yard

from monitor.model.scale import AlertState
from monitor.model.visit import Found
from monitor.web import Deps

FORM = "/vessels/amber-lark/visit"


@pytest.fixture
def flooded(tmp_path: Path) -> Iterator[WatchedYard]:
    made = flooded_yard(tmp_path / "flooded.db")
    yield made
    made.close()


@pytest.fixture
def client(flooded: WatchedYard, cache_dir: Path, ask: Callable[[Deps], httpx.Client]) -> httpx.Client:
    return ask(flooded.deps(cache_dir, roster=flooded.roster))


@pytest.fixture
def told(flooded: WatchedYard) -> dict[str, str]:
    """What somebody hands in who found the water that was told of, and knows themselves by their first name."""
    bilge = flooded.alert_of("amber-lark", "bilge").id
    return {"name": "anna", "found": Found.AS_TOLD.value, "note": "Pumped her out", f"alerts.{bilge}": "as-told"}


def walked(client: httpx.Client) -> dict[str, list[tuple[str, str]]]:
    stops = client.get("/api/round").json()["stops"]
    return {s["vessel"]: [(r["why"], r["text"]) for r in s["reasons"]] for s in stops}


def test_water_stays_on_the_round_until_it_is_gone_whoever_was_aboard(
    flooded: WatchedYard, client: httpx.Client, told: dict[str, str]
) -> None:
    assert [why for why, _ in walked(client)["amber-lark"]] == ["alarm", "overdue"]
    assert client.post(FORM, data=told | {"found": Found.WELL.value}).status_code == 422
    assert flooded.view.visits("amber-lark") == []
    done = client.post(FORM, data=told)
    assert done.status_code == 200
    assert "Anna Tolley has it until it clears or is handed over." in done.text
    ((why, text),) = walked(client)["amber-lark"]
    assert why == "alarm"
    assert text.endswith("Anna Tolley was aboard 18:02, and it still stands")
    flooded.sensed("amber-lark", "float", 0.0)
    flooded.passes(2)
    assert flooded.alert_of("amber-lark", "bilge").returned_ms is not None
    assert "amber-lark" not in walked(client)


def test_water_that_has_cleared_is_closed_by_a_visit_and_two_taps_are_one(
    flooded: WatchedYard, client: httpx.Client, told: dict[str, str]
) -> None:
    flooded.sensed("amber-lark", "float", 0.0)
    flooded.passes(2)
    assert flooded.alert_of("amber-lark", "bilge").state is AlertState.LATCHED
    assert [why for why, _ in walked(client)["amber-lark"]] == ["unconfirmed", "overdue"]
    with ThreadPoolExecutor(4) as taps:
        pages = list(taps.map(lambda _: httpx.post(client.base_url.join(FORM), data=told), range(4)))
    assert {page.status_code for page in pages} == {303}
    assert len({page.headers["location"] for page in pages}) == 1
    assert flooded.alert_of("amber-lark", "bilge").ended_ms is not None
    # The alert is closed by now: the same form says where the visit is, and not that it has no such alert.
    again = client.post(FORM, data=told)
    assert (again.status_code, again.url.path) == (200, pages[0].headers["location"])
    assert [v.actor for v in flooded.view.visits("amber-lark")] == ["Anna Tolley"]
    assert "amber-lark" not in walked(client)
