"""A winter's document: whole, or refused with every mistake in one answer."""

import pytest

from monitor.model.document import DocumentError
from simulator.plan import WinterPlan, read_plan
from simulator.winter import Winter
from simulator.yard import WINTER, yard_plan, yard_vessels

SMALL = """
name = "small"
seed = 1
begins = 2013-11-01T00:00:00Z
ends = 2013-11-05T00:00:00Z
weather = { source = "generated", seed = 3 }
"""
FAULT = """
[[faults]]
kind = "hidden load"
vessel = "lantern-rose"
subject = "house"
begins = 2013-11-02T00:00:00Z
load_ma = 80
"""


def _refusal(text: str) -> str:
    with pytest.raises(DocumentError) as refused:
        read_plan(text, "w.toml").fitting(yard_vessels(), "w.toml")
    return str(refused.value)


def test_the_shipped_winter_is_read_and_fits_the_yard() -> None:
    assert len(yard_plan().faults) == 9
    assert yard_plan(WINTER) == yard_plan()


def test_a_small_winter_is_read() -> None:
    assert read_plan(SMALL + FAULT, "w.toml").faults[0].kind == "hidden load"


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ("seed = 1", "seeds = 1", "w.toml: seeds: unknown key: look for a slip of the pen"),
        ('source = "generated"', 'source = "elsewhere"', "w.toml: weather: input tag 'elsewhere'"),
        ("load_ma = 80", "load_ma = -1", "w.toml: faults.0.hidden load.load_ma: input should be greater than 0"),
        ('"hidden load"', '"bad luck"', "w.toml: faults.0: input tag 'bad luck'"),
        ("2013-11-02T00:00:00Z", "2013-11-02T00:20:00Z", "a fault begins and ends at a whole hour"),
        ("2013-11-02T00:00:00Z", "2013-12-02T00:00:00Z", "lantern-rose hidden load: begins outside the winter"),
        ("2013-11-05T00:00:00Z", "2013-10-05T00:00:00Z", "a winter ends after it begins"),
        ('"lantern-rose"', '"nobody"', "w.toml: faults.0: there is no vessel 'nobody'"),
        ('"house"', '"attic"', "w.toml: faults.0: subject 'attic' is none of lantern-rose's: house"),
        ("name =", "name", "w.toml: not TOML"),
    ],
)
def test_a_mistake_is_named_with_file_key_and_reason(before: str, after: str, said: str) -> None:
    assert said in _refusal((SMALL + FAULT).replace(before, after))


def test_every_mistake_is_in_the_answer() -> None:
    said = _refusal((SMALL + FAULT).replace("seed = 1", "seed = 1.5").replace("load_ma = 80", "load_ma = 0"))
    assert "w.toml: seed:" in said
    assert "w.toml: faults.0.hidden load.load_ma:" in said


def test_a_boat_plan_that_names_what_is_not_aboard_is_refused() -> None:
    boat = '[[boats]]\nvessel = "lantern-rose"\nbatteries.attic = { load_ma = 5 }\nplaces.nose = "cabin"\n'
    said = _refusal(SMALL + boat)
    assert "boats.0.batteries: lantern-rose has no 'attic' in her record" in said
    assert "boats.0.places: lantern-rose has no 'nose' in her record" in said


def test_recorded_weather_that_does_not_reach_is_refused() -> None:
    plan = yard_plan().model_copy(update={"ends": yard_plan().ends.replace(year=2015)})
    with pytest.raises(DocumentError, match="does not reach"):
        plan.weather.load(plan.begins, plan.ends, plan.seed)


def test_a_winter_can_be_made_up_from_a_seed() -> None:
    plan: WinterPlan = read_plan(SMALL, "w.toml")
    assert list(Winter(plan, yard_vessels()).stream()) == list(Winter(plan, yard_vessels()).stream())
