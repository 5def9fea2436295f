"""The shipped winters and made-up fleets: whole, repeatable, and as common as they say."""

from pathlib import Path

import pytest

from monitor.model import equipment
from monitor.model.document import DocumentError
from monitor.model.equipment import SystemState
from monitor.record.commission import watch_state
from simulator.boat_plan import usual_plan
from simulator.faults import FAULTS
from simulator.fleet import TESTER_OFF_K
from simulator.library import read_winter, winter_names
from simulator.truth import HarmKind, TruthLog
from simulator.winter import ForecastIssued, Pack, Winter
from simulator.yard import sample_boats

MADE = [name for name in winter_names() if name != "jfk-2013"]
FLEET = """
name = "a fleet"
seed = 4
begins = 2013-12-01T00:00:00Z
ends = 2013-12-03T00:00:00Z
cadence_s = 600
weather = { source = "generated" }
[fleet]
vessels = 6
"""


def _own(tmp_path: Path, text: str) -> str:
    path = tmp_path / "own.toml"
    path.write_text(text, encoding="utf-8")
    return str(path)


def _said_by(winter: Winter, vessel: str) -> list[Pack]:
    return [m for m in winter.stream() if isinstance(m, Pack) and m.vessel == vessel]


@pytest.mark.parametrize("name", MADE)
def test_a_shipped_winter_makes_a_sound_fleet_and_what_befalls_it(name: str) -> None:
    winter = read_winter(name, vessels=5, seed=7)
    assert [v.id for v in winter.vessels] == [f"hull-{n:04d}" for n in range(1, 6)]
    assert winter.cadence_s == 600
    assert all(watch_state(record).is_whole for record in winter.vessels)
    assert {f.kind for f in winter.plan.faults} <= set(FAULTS)
    assert all(winter.plan.begins <= f.begins < winter.plan.ends for f in winter.plan.faults)


def test_there_are_twenty_winters_and_every_kind_of_fault_stands_in_one() -> None:
    assert len(MADE) >= 20
    text = "".join(p.read_text() for p in Path("simulator/data/winters").glob("*.toml"))
    unused = {kind for kind in FAULTS if f'kind = "{kind}"' not in text}
    assert unused == set()


def test_a_boat_is_the_same_in_a_larger_fleet_and_the_same_again(tmp_path: Path) -> None:
    path = _own(
        tmp_path, FLEET + '[[chances]]\nkind = "gland drip"\nchance = 0.5\nfigures = { drops_per_min = [5, 50] }\n'
    )
    few, many = read_winter(path, vessels=3), read_winter(path, vessels=6)
    assert few.vessels == many.vessels[:3]
    assert few.plan.faults == tuple(f for f in many.plan.faults if f.vessel in {v.id for v in few.vessels})
    assert read_winter(path).plan == many.plan
    assert read_winter(path, seed=5).plan != many.plan


def test_a_vessel_alone_says_what_she_says_among_the_others(tmp_path: Path) -> None:
    path = _own(
        tmp_path,
        FLEET
        + '[[chances]]\nkind = "sensors swapped between boats"\nchance = 1.0\nlasts_h = [5, 20]\nbegins_day = [0, 1]\n',
    )
    winter = read_winter(path)
    assert _said_by(winter.alone(2), "hull-0003") == _said_by(winter, "hull-0003")


def test_faults_are_as_common_as_their_chance(tmp_path: Path) -> None:
    path = _own(tmp_path, FLEET + '[[chances]]\nkind = "gateway silent"\nchance = 0.3\nlasts_h = [1, 5]\n')
    struck = len(read_winter(path, vessels=400).plan.faults)
    # Binomial: 400 times 0.3 is 120, its standard deviation 9.2; four of them.
    assert 84 < struck < 156


def test_a_sound_fleet_truly_freezes_within_its_testers_error() -> None:
    winter = read_winter("quiet", vessels=40)
    plans = {b.vessel: b for b in winter.plan.boats}
    systems = [(v.id, s) for v in winter.vessels for s in v.liquid_systems if s.state is SystemState.TREATED]
    assert {s.tester for _, s in systems} == {equipment.Tester.BALL, equipment.Tester.REFRACTOMETER}
    for vessel, system in systems:
        assert system.tested_freeze_degc is not None
        assert system.tester is not None
        off_k = plans[vessel].freezes_degc[system.id] - system.tested_freeze_degc
        assert abs(off_k) <= TESTER_OFF_K[system.tester]


def test_a_winter_with_forecasts_issues_them_every_six_hours(tmp_path: Path) -> None:
    path = _own(tmp_path, FLEET.replace("[fleet]", "forecast = {}\n[fleet]"))
    issued = [m for m in read_winter(path, vessels=1).stream() if isinstance(m, ForecastIssued)]
    assert [m.at_ms % (6 * 3_600_000) for m in issued] == [0] * 9
    assert all(m.hours[0][0] == m.at_ms for m in issued)


def test_weather_from_a_file_beside_the_document_is_read_and_its_mistakes_told(tmp_path: Path) -> None:
    rows = "".join(f"2013-12-0{1 + h // 24}T{h % 24:02d}:00Z,{h / 10},80\n" for h in range(49))
    (tmp_path / "hours.csv").write_text("time,outside_degc,humidity_percent\n" + rows)
    text = FLEET.replace('{ source = "generated" }', '{ source = "csv", file = "hours.csv" }')
    winter = read_winter(_own(tmp_path, text))
    assert winter.weather.at(winter.plan.begins_ms + 5 * 3_600_000).outside_degc == pytest.approx(0.5)
    with pytest.raises(DocumentError, match=r"own.toml: weather.csv.file: there is no file .*other.csv"):
        read_winter(_own(tmp_path, text.replace("hours.csv", "other.csv")))


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ('[[chances]]\nkind = "bad luck"\nchance = 1.0\n', "there is no fault 'bad luck'"),
        ('[[chances]]\nkind = "gland drip"\nchance = 1.0\n', "figures (least): gland drip.drops_per_min: is missing"),
        (
            '[[chances]]\nkind = "gland drip"\nchance = 2.0\nfigures = { drops_per_min = 5 }\n',
            "chances.0.chance: input should be less than or equal to 1",
        ),
        (
            '[[chances]]\nkind = "gland drip"\nchance = 1.0\nfigures = { drops_per_min = [9, 3] }\n',
            "a span's least, 9, lies above its most, 3",
        ),
        ('[[boats]]\nvessel = "blue-harrow"\n', "a made-up fleet has chances"),
    ],
)
def test_a_mistake_in_a_fleet_is_named(tmp_path: Path, more: str, said: str) -> None:
    with pytest.raises(DocumentError) as refused:
        read_winter(_own(tmp_path, FLEET + more))
    assert said in str(refused.value)


def test_a_winter_that_is_not_there_is_answered_with_those_that_are() -> None:
    with pytest.raises(DocumentError, match=r"there is no winter 'summer'.*one of bad-sensors, battery-left-low"):
        read_winter("summer")


def test_a_burst_pipe_runs_into_the_bilge_at_the_thaw_and_not_before(tmp_path: Path) -> None:
    text = FLEET.replace("2013-12-03", "2014-02-01").replace('"generated"', '"generated", climate = "freeze and thaw"')
    text += 'like = { nettlewing = 1 }\n[[chances]]\nkind = "water left in pipes"\nchance = 1.0\n'
    text += "figures = { burst_litres = [20, 60] }\n"
    winter = read_winter(_own(tmp_path, text))
    burst = 0
    for n in range(len(winter.vessels)):
        log = TruthLog()
        for _ in winter.alone(n).stream(log):
            pass
        thaws = [h.ended_ms for h in log.harms if h.kind is HarmKind.FROZEN and h.ended_ms is not None]
        risen = [m.at_ms for m in log.marks if m.kind == "20 mm risen"]
        assert len(risen) == bool(thaws)
        if risen:
            burst += 1
            # 2 litres a minute reach 20 mm (half a litre) within one step of the first thaw.
            assert 0 <= risen[0] - min(thaws) <= 1_200_000
    assert burst > 0


def test_a_boat_that_a_winter_does_not_name_has_the_charger_and_dehumidifier_of_her_record() -> None:
    record = sample_boats()["oat-harvest"][0]
    plan = usual_plan(record)
    assert plan.batteries["house"].charger_a is not None
    assert plan.air.dehumidifier is not None
    assert plan.air.dehumidifier.hold_rh < record.dehumidifier.hold_below_rh  # type: ignore[union-attr]
    assert usual_plan(sample_boats()["blue-harrow"][0]).batteries["house"].charger_a is None


def test_coolant_that_a_winter_makes_weak_is_weak_and_not_only_written_so() -> None:
    winter = read_winter("weak-coolant", vessels=6)
    plans = {b.vessel: b for b in winter.plan.boats}
    weak = {(f.vessel, f.subject) for f in winter.plan.faults}
    assert len(weak) == 6
    for vessel in winter.vessels:
        for system in vessel.liquid_systems:
            if (vessel.id, system.id) in weak:
                assert system.tested_freeze_degc is not None
                assert system.tester is not None
                off_k = plans[vessel.id].freezes_degc[system.id] - system.tested_freeze_degc
                assert abs(off_k) <= TESTER_OFF_K[system.tester] + 0.05  # the record is written to a tenth


@pytest.mark.parametrize("name", ["many-faults", "freeze-and-thaw", "northern-coast", "ordinary"])
def test_faults_that_exclude_each_other_stop_no_winter(name: str) -> None:
    for seed in range(1, 9):
        read_winter(name, vessels=24, seed=seed)


def test_winters_of_one_seed_are_other_boats_but_for_the_forecast() -> None:
    ordinary, foretold = read_winter("ordinary", 4, 2), read_winter("ordinary-with-forecast", 4, 2)
    assert (ordinary.vessels, ordinary.plan.faults) == (foretold.vessels, foretold.plan.faults)
    assert read_winter("many-faults", 4, 2).plan.boats != ordinary.plan.boats


def test_a_winter_says_the_seed_that_it_was_asked_for_by() -> None:
    winter = read_winter("ordinary", 2, seed=7)
    assert (winter.seed, winter.alone(1).seed) == (7, 7)
    assert read_winter("ordinary", 1).seed == 1
