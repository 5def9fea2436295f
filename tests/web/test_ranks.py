"""The order in which alerts and boats are looked at: water first, what is merely not heard last."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import httpx
import pytest
from yards import HOUR_MS, NOW_MS, Yard, frost, record

from monitor.model.alert import AlertChange
from monitor.model.finding import Finding, TimeToHarm
from monitor.model.scale import Priority
from monitor.web import Deps
from monitor.web.ranks import Rank, rank_of, urgency

Ask = Callable[[Deps], httpx.Client]


def water(priority: Priority = Priority.ALARM) -> Finding:
    """Give water at a float: nobody can say how long until harm."""
    facts: dict[str, int | float | str | bool | None] = {"name": "Main bilge", "up_ms": NOW_MS, "level_mm": None}
    bare = replace(frost(priority), causes=(), first=(), never=(), harm=None, facts=facts)
    return replace(bare, rule="bilge", subject="main", kind="float", always_told=True)


def silence(priority: Priority = Priority.ALARM) -> Finding:
    """Give a boat that is not heard."""
    facts: dict[str, int | float | str | bool | None] = {"ever_heard": False, "sensors": 7, "silent_h": 30.0}
    bare = replace(frost(priority), causes=(), first=(), never=(), harm=None, facts=facts)
    return replace(bare, rule="silence", subject="gateway", kind="gateway")


@pytest.fixture
def bare(tmp_path: Path) -> Yard:
    """A yard with one boat of which nothing is wrong yet."""
    made = Yard(tmp_path / "bare.db")
    made.lay_up(record("tern", "Tern"))
    return made


def test_water_leads_then_what_harms_soonest_and_silence_comes_last_however_old(bare: Yard) -> None:
    ages = {"silence": 30, "late": 20, "soon": 10, "fire": 5, "water": 1}
    found = {
        "silence": silence(),
        "late": replace(frost(Priority.ALARM), harm=TimeToHarm(9 * 3600, None)),
        "soon": replace(frost(Priority.ALARM), harm=TimeToHarm(600, None)),
        "fire": replace(frost(Priority.ALARM), harm=None),
        "water": water(),
    }
    names = {bare.open_alert("tern", finding, ages[name] * HOUR_MS).id: name for name, finding in found.items()}
    ordered = [names[alert.id] for alert in sorted(bare.alerts.values(), key=urgency)]
    assert ordered == ["water", "soon", "late", "fire", "silence"]
    bare.close()


def test_an_alarm_that_is_silence_still_comes_before_a_warning_that_is_water(bare: Yard) -> None:
    bare.open_alert("tern", water(Priority.WARNING))
    bare.open_alert("tern", silence(Priority.ALARM))
    assert [a.rule for a in sorted(bare.alerts.values(), key=urgency)] == ["silence", "bilge"]
    bare.close()


def test_what_has_cleared_and_what_is_put_aside_come_after_what_stands(bare: Yard) -> None:
    cleared = bare.open_alert("tern", water())
    bare.clear(cleared)
    latched = bare.open_alert("tern", replace(water(), subject="fore"))
    latched.latching = True
    bare.clear(latched)
    standing = bare.open_alert("tern", frost(Priority.WARNING))
    ordered = sorted(bare.alerts.values(), key=urgency)
    assert [a.id for a in ordered] == [standing.id, latched.id, cleared.id]
    assert [rank_of(a) for a in ordered] == [Rank.SOON, Rank.SOON, Rank.CLEARED]
    bare.close()


def test_a_boat_that_was_silent_before_she_flooded_shows_the_flood(bare: Yard, cache_dir: Path, ask: Ask) -> None:
    bare.open_alert("tern", silence(), 30 * HOUR_MS)
    bare.open_alert("tern", water(), HOUR_MS)
    client = ask(bare.deps(cache_dir))
    page = client.get("/vessels/tern").text
    verdict = page[page.index('class="verdict') : page.index('id="alerts"')]
    assert "Main bilge: the float switch is up" in verdict
    alerts = page[page.index('id="alerts"') :]
    assert alerts.index("the float switch is up") < alerts.index("She has never been heard")
    bare.close()


def test_of_boats_alike_the_unseen_come_first_but_a_seen_flood_comes_before_silence(
    bare: Yard, cache_dir: Path, ask: Ask
) -> None:
    bare.lay_up(*(record(v, v.title()) for v in ("auk", "brent", "coot")))
    seen = bare.open_alert("auk", water(), 5 * HOUR_MS)
    seen.acknowledged_ms, seen.acknowledged_by = bare.now_ms, "Anna Tolley"
    bare.happens(seen, AlertChange.ACKNOWLEDGED, bare.now_ms, "Anna Tolley")
    bare.open_alert("brent", silence(), 9 * HOUR_MS)
    bare.open_alert("coot", water(), HOUR_MS)
    listed = ask(bare.deps(cache_dir)).get("/api/vessels").json()
    page = ask(bare.deps(cache_dir)).get("/").text
    order = sorted(("auk", "brent", "coot"), key=lambda v: page.index(f'data-vessel="{v}"'))
    assert order == ["coot", "auk", "brent"]
    assert {v["state"] for v in listed if v["id"] != "tern"} == {"Act now"}
    bare.close()
