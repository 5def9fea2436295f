"""A job written into a record: its tags, what comes off in words, and a tested point put into a liquid system."""

from datetime import date
from typing import Any

import pytest
from boats import boat

from monitor.model.equipment import Due, Liquid, OpenItem
from monitor.model.vessel import Vessel
from monitor.model.work import JobEnd, Measured
from monitor.record.standing import standing_items
from monitor.record.work_done import (
    Ended,
    IntoSystem,
    LeftOpen,
    TakenOff,
    WorkRefusedError,
    job_of,
    next_tag,
    with_job,
)
from monitor.record.work_list_files import shipped

DAY = date(2026, 11, 3)


def ended(job_id: str = "raw-impeller", **changes: Any) -> Ended:
    work = shipped().job(job_id)
    assert work is not None
    return Ended(**({"work": work, "end": JobEnd.DONE, "by": "Enid Invented", "on": DAY} | changes))


def checked(record: Vessel) -> Vessel:
    return Vessel.model_validate(record.model_dump())


def tagged(*tags: int) -> Vessel:
    return boat(open_items=tuple(OpenItem(tag=tag, what=f"Thing {tag}", due=Due.BEFORE_LIFT) for tag in tags))


@pytest.mark.parametrize(
    ("tags", "free"), [((), 1), ((1, 2), 3), ((7,), 8), ((9_999,), 1), ((1, 2, 9_999), 3), ((9_998,), 9_999)]
)
def test_the_next_tag_follows_the_highest_else_it_is_the_lowest_that_is_free(tags: tuple[int, ...], free: int) -> None:
    assert next_tag(tagged(*tags)) == free


def test_two_things_left_by_one_job_get_two_tags() -> None:
    left = (LeftOpen("Impeller", Due.BEFORE_LIFT), LeftOpen("Its cover", Due.BEFORE_LIFT))
    made = checked(with_job(tagged(4), ended(leaves=left)))
    assert [(item.tag, item.what) for item in made.open_items] == [(4, "Thing 4"), (5, "Impeller"), (6, "Its cover")]
    again = checked(with_job(made, ended(leaves=(LeftOpen("Its key", Due.AFTER_LAUNCH),))))
    kept = job_of(again, "raw-impeller")
    assert kept is not None
    assert kept.tags == (5, 6, 7)


def test_a_tag_that_hangs_already_is_refused_with_the_next_free_one() -> None:
    with pytest.raises(WorkRefusedError, match=r"tag 4 hangs on .Thing 4. already; the next free one is 5") as refused:
        with_job(tagged(4), ended(leaves=(LeftOpen("x", Due.BEFORE_LIFT, tag=4),)))
    assert refused.value.key == "tag"


def test_what_came_off_in_words_stands_open_no_more_and_is_not_forgotten() -> None:
    made = checked(with_job(boat(), ended(leaves=(LeftOpen("Impeller is out", Due.BEFORE_LIFT),))))
    assert any(item.tag == 1 for item in standing_items(made))
    off = checked(with_job(made, ended(note="dry", off=(TakenOff(1, "it was fitted again"),))))
    assert not any(item.tag == 1 for item in standing_items(off))
    (item,) = off.open_items
    assert (item.closed, item.closed_by) == (DAY, "Enid Invented")
    job = job_of(off, "raw-impeller")
    assert job is not None
    assert (job.tags, job.note) == ((1,), "dry; Tag 1 taken off: it was fitted again")


@pytest.mark.parametrize(("tag", "why"), [(1, " "), (9, "no such tag")])
def test_no_tag_comes_off_without_words_or_by_another_job(tag: int, why: str) -> None:
    made = with_job(tagged(9), ended(leaves=(LeftOpen("Impeller is out", Due.BEFORE_LIFT, tag=1),)))
    with pytest.raises(WorkRefusedError):
        with_job(made, ended(off=(TakenOff(tag, why),)))


def test_a_tested_point_goes_into_the_system_that_was_asked_for_and_no_other() -> None:
    read = (Measured(what="Coolant freeze point", value=-28.0, unit="°C", by_means_of="laboratory"),)
    (system,) = boat().liquid_systems
    into = (IntoSystem(system.id, Liquid.PROPYLENE_GLYCOL),)
    made = checked(with_job(boat(), ended("coolant-freeze-point", readings=read, into=into)))
    (after,) = made.liquid_systems
    assert (after.tested_freeze_degc, after.tester, after.tested) == (-28.0, "laboratory", DAY)
    assert (after.liquid, after.sensor) == (Liquid.PROPYLENE_GLYCOL, system.sensor)
    assert with_job(boat(), ended("coolant-freeze-point", readings=read)).liquid_systems == boat().liquid_systems
    for wrong in ((IntoSystem("no-such"),), ()):
        job = "raw-antifreeze" if not wrong else "coolant-freeze-point"
        with pytest.raises(WorkRefusedError):
            with_job(boat(), ended(job, readings=() if not wrong else read, into=wrong or into))


def test_readings_are_those_of_the_list_and_lie_where_they_can() -> None:
    for what, value in (("Volts at rest", 61.0), ("Volts at rest", -0.1), ("Weather", 1.0)):
        with pytest.raises(WorkRefusedError):
            with_job(boat(), ended("battery-charged", readings=(Measured(what=what, value=value),)))


def test_at_most_six_photos_and_none_said_leaves_them() -> None:
    photos = tuple(f"{n:064d}" for n in range(7))
    with pytest.raises(WorkRefusedError, match="at most 6 photos"):
        with_job(boat(), ended(photos=photos))
    made = with_job(with_job(boat(), ended(photos=photos[:2])), ended(note="looked again"))
    job = job_of(made, "raw-impeller")
    assert job is not None
    assert job.photos == photos[:2]
