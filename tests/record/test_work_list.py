"""The work lists: what ships, for which boats, and how a yard makes them its own."""

from itertools import product
from typing import Any

import pytest
from boats import boat

from monitor.model.document import DocumentError
from monitor.model.equipment import SystemKind
from monitor.model.vessel import Mode
from monitor.model.work import Engine, Rig
from monitor.record.work_list import Lying, WorkLists, jobs_for, lying_of, work_for
from monitor.record.work_list_files import shipped
from monitor.record.work_list_read import ListText, read_work_lists

# The systems that issue 7 names; fresh, grey and black water are three of them here.
SYSTEMS = (
    *("fuel", "engine-oil", "closed-cooling", "raw-water", "drive", "stern-gland", "seacocks"),
    *("fresh-water", "grey-water", "black-water", "batteries", "gas", "bilge", "air", "heater"),
    *("shore-power", "safety-kit", "alarms", "ground-tackle", "rubber", "anodes", "canvas-and-rig", "cradle-and-cover"),
)
OURS = """
[[systems]]
id = "fuel"
name = "Fuel"
[[systems.jobs]]
id = "fuel-full"
what = "Fill the tank"
source = "Common practice, no source"
[[systems.jobs]]
id = "fuel-shut"
what = "Shut the fuel off"
source = "Common practice, no source"
"""


def read(*yards: str) -> WorkLists:
    texts = [ListText(f"yard-{number}.toml", text) for number, text in enumerate(yards, 1)]
    return read_work_lists([ListText("ours.toml", OURS)], texts)


def job(key: str, **fields: Any) -> str:
    given = {"what": f"'{key} done'", "source": "'the yard'"} | fields
    return "\n".join([f"[[systems.jobs]]\nid = '{key}'", *(f"{k} = {v}" for k, v in given.items())])


def system(key: str, *jobs: str, name: str = "") -> str:
    return "\n".join(["[[systems]]", f"id = '{key}'", *([f"name = '{name}'"] if name else []), *jobs, ""])


def test_every_shipped_job_loads_and_every_system_of_the_issue_has_one() -> None:
    lists = shipped()
    assert {system.id for system in lists.systems} == set(SYSTEMS)
    assert all(system.jobs for system in lists.systems)
    ids = [job.id for job in lists.jobs()]
    assert len(set(ids)) == len(ids) > 100
    assert {job.system for job in lists.jobs()} == {system.name for system in lists.systems}


def test_every_kind_of_liquid_system_has_a_job() -> None:
    assert {job.liquid for job in shipped().jobs()} - {None} == set(SystemKind)


def test_where_people_get_hurt_there_is_a_caution() -> None:
    cautions = " ".join(job.caution for job in shipped().jobs()).lower()
    for word in ("hydrogen", "gas", "petrol", "glycol", "acid", "two people", "carbon monoxide", "frozen"):
        assert word in cautions, word
    for job in shipped().jobs():
        if any(word in job.what.lower() for word in ("petrol", "flooded cells", "cylinder valve")):
            assert job.caution, job.id


@pytest.mark.parametrize(("engine", "rig", "lying"), list(product(Engine, Rig, Lying)))
def test_every_kind_of_boat_gets_a_list_that_fits_her(engine: Engine, rig: Rig, lying: Lying) -> None:
    jobs = {job.id for job in jobs_for(shipped(), engine, rig, lying)}
    assert len(jobs) > 50
    inboard = engine in {Engine.INBOARD_DIESEL, Engine.INBOARD_PETROL, Engine.STERNDRIVE}
    for one, wanted in {
        "coolant-freeze-point": inboard,
        "fuel-diesel-filters": engine is Engine.INBOARD_DIESEL,
        "fuel-petrol-tank": engine in {Engine.INBOARD_PETROL, Engine.STERNDRIVE, Engine.OUTBOARD},
        "gearbox-oil": engine in {Engine.INBOARD_DIESEL, Engine.INBOARD_PETROL},
        "sterndrive-bellows": engine is Engine.STERNDRIVE,
        "outboard-flushed": engine is Engine.OUTBOARD,
        "rig-sails": rig is Rig.SAIL,
        "seacocks-drain-bung": lying is Lying.ASHORE,
        "bilge-pump": lying is Lying.AFLOAT,
        "battery-charged": True,
    }.items():
        assert (one in jobs) is wanted, one


def test_a_boats_record_chooses_her_jobs_and_what_it_does_not_say_rules_nothing_out() -> None:
    known = boat(mode=Mode.AFLOAT_LAID_UP, berth="7", plot=None, engine=Engine.NONE, rig=Rig.MOTOR)
    jobs = work_for(shipped(), known)
    assert jobs == jobs_for(shipped(), Engine.NONE, Rig.MOTOR, Lying.AFLOAT)
    ids = [job.system for job in jobs]
    assert [s for n, s in enumerate(ids) if s not in ids[:n]] == [s for n, s in enumerate(ids) if s != ids[n - 1]]
    unknown = boat(mode=Mode.LAYING_UP, berth=None, plot=None)
    assert lying_of(unknown) is None
    assert len(work_for(shipped(), unknown)) == len(list(shipped().jobs()))


def test_a_yard_adds_replaces_and_leaves_out() -> None:
    ours = "leave_out = ['fuel-shut']\n" + system("fuel", job("fuel-full", rigs="['sail']"), job("polish"))
    new = system("piano", job("piano-tuned"), name="Piano")
    lists = read(ours, new)
    assert [(job.id, job.system) for job in lists.jobs()] == [
        ("fuel-full", "Fuel"),
        ("polish", "Fuel"),
        ("piano-tuned", "Piano"),
    ]
    replaced = lists.job("fuel-full")
    assert replaced is not None
    assert (replaced.what, replaced.rigs) == ("fuel-full done", (Rig.SAIL,))


def test_a_yard_moves_a_job_and_renames_a_system() -> None:
    lists = read(system("fuel", name="Diesel") + system("tanks", job("fuel-shut"), name="Tanks"))
    assert [(job.id, job.system) for job in lists.jobs()] == [("fuel-full", "Diesel"), ("fuel-shut", "Tanks")]


def test_every_mistake_of_every_file_is_told_at_once_with_file_key_and_reason() -> None:
    with pytest.raises(DocumentError) as raised:
        read(
            system("fuel", job("fuel-full", engines="['steam']"), job("x", sauce="''")),
            "leave_out = ['fuel-shutt']",
            system("piano", job("piano-tuned")),
            "this is no TOML",
            system("fuel", job("y", readings="[{what='V', low=3, high=1}]")),
            system("fuel", job("z"), job("z")),
        )
    lines = str(raised.value).splitlines()
    for source, key, reason in (
        ("yard-1.toml", "systems.0.jobs.0.engines.0", "'inboard diesel'"),
        ("yard-1.toml", "systems.0.jobs.1.sauce", "unknown key"),
        ("yard-2.toml", "leave_out", "there is no job 'fuel-shutt'"),
        ("yard-3.toml", "systems piano", "name: is missing"),
        ("yard-4.toml", "not TOML", ""),
        ("yard-5.toml", "systems.0.jobs.0.readings.0", "low 3 must lie below high 1"),
        ("yard-6.toml", "jobs", "'z' stands 2 times"),
    ):
        assert any(line.startswith(f"{source}: ") and key in line and reason in line for line in lines), (source, lines)


@pytest.mark.parametrize(
    ("reading", "reason"),
    [
        ("{what='F', unit='K', low=1, high=2, means=['refractometer'], freeze_point=true}", "a freeze_point is in"),
        ("{what='F', unit='°C', low=1, high=2, means=['thumb'], freeze_point=true}", "its means are some of"),
        ("{what='F', unit='°C', low=1, high=2, means=['ball tester'], freeze_point=true}", "say its kind in liquid"),
    ],
)
def test_a_freeze_point_is_one_that_a_liquid_system_can_take(reading: str, reason: str) -> None:
    with pytest.raises(DocumentError, match=reason):
        read(system("fuel", job("y", readings=f"[{reading}]")))
