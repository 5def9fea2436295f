"""The coolant sums against published tables, against balances by hand, and in what they refuse."""

import re
from math import ceil

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.model import equipment
from monitor.model.equipment import Liquid, SystemKind
from monitor.record.coolant import behind_test, glycol_of, mixture, thinned, to_mix, to_replace
from monitor.record.coolant_answer import Question, Sum, answer
from monitor.record.coolant_cover import Cold, cover
from monitor.record.coolant_refused import CoolantRefusedError
from monitor.record.coolant_says import BESIDE, CAUTIONS
from monitor.science.freezing import Glycol, max_volume_pct

E, P = Glycol.ETHYLENE, Glycol.PROPYLENE
# Mass %, degC by Melinder (IIR 2010; CoolProp 8.0.0, REFERENCES.md), degC and volume % by ASHRAE Fundamentals (2001).
TABLES = {
    E: ((20, -7.95, -7.8, 18.1), (30, -14.58, -14.1, 27.7), (40, -23.81, -22.3, 37.5), (50, -35.99, -33.8, 47.6)),
    P: ((20, -7.17, -7.1, 19.4), (30, -12.79, -12.7, 29.4), (40, -20.57, -21.1, 39.6), (50, -32.19, -33.5, 49.9)),
}
ROWS = [(glycol, *row) for glycol, rows in TABLES.items() for row in rows]
glycols = st.sampled_from(list(Glycol))
testers = st.sampled_from(list(equipment.Tester))


@pytest.mark.parametrize(("glycol", "mass", "melinder", "ashrae", "volume"), ROWS)
def test_nothing_is_counted_on_that_either_table_denies(
    glycol: Glycol, mass: float, melinder: float, ashrae: float, volume: float
) -> None:
    by_mass, by_volume = mixture(glycol, mass, by_mass=True), mixture(glycol, volume)
    warmer = max(melinder, ashrae)
    # Both tables freeze at or below it; and it is no more cautious than a degree and twice their distance.
    assert warmer <= by_mass.protected_degc <= warmer + 1 + 2 * abs(melinder - ashrae) + 0.5
    assert by_volume.protected_degc == by_mass.protected_degc
    assert by_volume.mass_pct == pytest.approx(mass, abs=0.05)  # half of the table's last digit


@pytest.mark.parametrize(("glycol", "melinder", "ashrae", "volume"), [(g, m, a, v) for g, _, m, a, v in ROWS])
def test_a_tested_point_leads_back_to_a_strength_that_both_tables_allow(
    glycol: Glycol, melinder: float, ashrae: float, volume: float
) -> None:
    for source in (melinder, ashrae):
        found = behind_test(glycol, source, equipment.Tester.LABORATORY)
        assert found.weakest_pct <= volume
        assert found.strongest_pct is None or found.strongest_pct >= volume
        assert found.count_on_degc == ceil(source + 0.5)


@given(glycols, st.floats(0.0, 55.0), testers)
def test_there_and_back_is_never_stronger_than_it_began(
    glycol: Glycol, percent: float, tester: equipment.Tester
) -> None:
    point = mixture(glycol, percent).point.t_degc
    found = behind_test(glycol, point, tester)
    assert found.weakest_pct <= percent + 1e-6
    assert found.strongest_pct is None or found.strongest_pct >= percent - 1e-6


@given(glycols, st.floats(0.0, 100.0), st.floats(0.1, 500.0), st.one_of(st.just(0.0), st.floats(0.1, 500.0)))
def test_water_left_behind_takes_none_of_the_glycol(glycol: Glycol, poured: float, litres: float, left: float) -> None:
    share = poured * litres / (litres + left)
    if share > max_volume_pct(glycol) + 1e-6:
        with pytest.raises(CoolantRefusedError, match="Stronger is not better"):
            thinned(glycol, poured, litres, left)
    elif share < max_volume_pct(glycol) - 1e-6:
        assert thinned(glycol, poured, litres, left).volume_pct * (litres + left) == pytest.approx(poured * litres)


@given(glycols, st.floats(0.1, 800.0), st.floats(0.0, 40.0), st.floats(-45.0, 0.0), st.floats(58.0, 100.0))
def test_what_is_replaced_brings_it_there_and_is_in_the_system(
    glycol: Glycol, system: float, now: float, wanted: float, fill: float
) -> None:
    found = to_replace(glycol, system, now, wanted, fill)
    assert 0.0 <= found.litres <= system
    assert found.after.protected_degc <= ceil(wanted)
    glycol_l = now / 100.0 * (system - found.litres) + fill / 100.0 * found.litres
    assert found.after.volume_pct == pytest.approx(min(100.0 * glycol_l / system, max_volume_pct(glycol)))
    # No jug more than is needed: a tenth of a litre less would not do.
    if found.litres > 0.1:
        less = now + (fill - now) * (found.litres - 0.1) / system
        assert less < found.needed_pct + 1e-6


@given(glycols, st.floats(0.1, 800.0), st.floats(-45.0, 0.0), st.floats(58.0, 100.0))
def test_what_is_mixed_is_as_much_as_was_asked_and_cold_enough(
    glycol: Glycol, total: float, wanted: float, fill: float
) -> None:
    found = to_mix(glycol, total, wanted, fill)
    assert found.litres + found.water_l == pytest.approx(total)
    assert found.water_l >= 0.0
    assert found.after.protected_degc <= ceil(wanted)


def test_a_balance_by_hand() -> None:
    # 20 L at 20 % hold 4 L of glycol. 40.9 % (ethylene for -25 degC) is 8.19 L: each litre changed for neat adds 0.8 L.
    found = to_replace(E, 20.0, 20.0, -25.0, 100.0)
    assert found.needed_pct == pytest.approx(40.93, abs=0.01)
    assert found.litres == pytest.approx(5.3)  # 4.19 / 0.8 = 5.23, to the next tenth


def test_a_small_system_is_not_made_stronger_than_the_tables_by_rounding_up() -> None:
    found = to_replace(E, 2.0, 0.0, -46.0, 100.0)
    assert found.litres == pytest.approx(1.15)  # 57.3 % of two litres; 1.2 L would make 60 %, past the tables' 57.8
    assert found.after.protected_degc == -46


@pytest.mark.parametrize("which", list(Sum))
def test_each_worked_example_is_what_the_sum_gives(which: Sum) -> None:
    beside = BESIDE[which]
    found = answer(beside.example)
    said = " ".join([found.headline, *(text for _, text in found.rows)])
    figures = set(re.findall(r"\d+(?:\.\d+)?", beside.worked.rsplit(". ", 1)[-1]))
    assert figures
    assert figures <= set(re.findall(r"\d+(?:\.\d+)?", said))


def test_a_test_that_is_cold_enough_goes_before_the_tables() -> None:
    figures = {"system_l": 12.0, "now": -25.0, "wanted": -24.0, "fill": 100.0}
    found = answer(Question(Sum.REPLACE, E, figures, now_tested=True))
    assert found.headline.startswith("Nothing to replace")
    assert found.protected_degc == -24
    by_ball = answer(Question(Sum.REPLACE, E, figures, now_tested=True, tester=equipment.Tester.BALL))
    assert by_ball.headline.startswith("Drain ")


REFUSED = [
    (Sum.POINT, E, {"strength": 60.0}, "strength", "protects less again"),
    (Sum.POINT, P, {"strength": 60.5}, "strength", "protects less again"),
    (Sum.POINT, E, {"strength": -1.0}, "strength", "no share of a whole"),
    (Sum.POINT, E, {"strength": 101.0}, "strength", "no share of a whole"),
    (Sum.STRENGTH, E, {"tested": 25.0}, "tested", "write the minus"),
    (Sum.STRENGTH, E, {"tested": -60.0}, "tested", "Look at the tester's scale"),
    (Sum.LEFT, E, {"poured": 100.0, "poured_l": 8.0, "left_l": 1.0}, "poured", "Stronger is not better"),
    (Sum.LEFT, E, {"poured": 50.0, "poured_l": 0.0, "left_l": 1.0}, "poured_l", "Look at the unit"),
    (Sum.LEFT, E, {"poured": 50.0, "poured_l": 8.0, "left_l": -2.0}, "left_l", "Look at the unit"),
    (Sum.REPLACE, E, {"system_l": 12.0, "now": 70.0, "wanted": -20.0, "fill": 100.0}, "now", "Stronger is not"),
    (Sum.REPLACE, E, {"system_l": 12.0, "now": 20.0, "wanted": -20.0, "fill": 30.0}, "fill", "too weak"),
    (Sum.REPLACE, E, {"system_l": 12.0, "now": 20.0, "wanted": 20.0, "fill": 100.0}, "wanted", "write the minus"),
    (Sum.MIX, E, {"system_l": 12.0, "wanted": -50.0, "fill": 100.0}, "wanted", "Drain it instead"),
    (Sum.MIX, E, {"system_l": 1e6, "wanted": -20.0, "fill": 100.0}, "system_l", "Look at the unit"),
]


@pytest.mark.parametrize(("which", "glycol", "figures", "key", "words"), REFUSED)
def test_what_no_table_covers_is_refused_in_words(
    which: Sum, glycol: Glycol, figures: dict[str, float], key: str, words: str
) -> None:
    with pytest.raises(CoolantRefusedError, match=words) as refused:
        answer(Question(which, glycol, figures))
    assert refused.value.key == key


@given(
    st.sampled_from(list(Sum)),
    glycols,
    st.lists(st.floats(allow_nan=True, allow_infinity=True), min_size=4, max_size=4),
    st.booleans(),
    testers,
)
def test_any_figures_get_an_answer_or_a_refusal(
    which: Sum, glycol: Glycol, drawn: list[float], tested: bool, tester: equipment.Tester
) -> None:
    figures = dict(zip(which.figures, drawn, strict=False))
    stood_in_the_way, protected_degc = "", 0
    try:
        question = Question(which, glycol, figures, by_mass=tested, now_tested=tested, tester=tester)
        protected_degc = answer(question).protected_degc
    except CoolantRefusedError as refused:
        stood_in_the_way = refused.key
    assert stood_in_the_way in {"", *figures}
    assert -60 <= protected_degc <= 0


def test_ethylene_glycol_is_never_poured_into_water_that_is_drunk() -> None:
    figures = {"system_l": 12.0, "wanted": -20.0, "fill": 100.0}
    with pytest.raises(CoolantRefusedError, match="poisonous"):
        answer(Question(Sum.MIX, E, figures, kind=SystemKind.FRESH_WATER))
    assert answer(Question(Sum.MIX, P, figures, kind=SystemKind.FRESH_WATER)).protected_degc == -20
    assert glycol_of(None, SystemKind.FRESH_WATER) is P
    assert glycol_of(Liquid.ETHYLENE_GLYCOL, SystemKind.CLOSED_COOLING) is E


def test_it_is_said_when_the_coldest_known_is_not_covered() -> None:
    short = cover(-10.0, Cold(heard_degc=-11.0, error_k=0.5))
    assert short.says.startswith("Not enough")
    assert short.room_k == pytest.approx(-1.5)
    assert cover(-10.0, Cold(heard_degc=-6.0, error_k=0.5)).says.startswith("Too little room")
    assert cover(-20.0, Cold(heard_degc=-6.0, error_k=0.5)).room_k == pytest.approx(13.5)
    foretold = cover(-20.0, Cold(heard_degc=-6.0, error_k=0.5, foretold_degc=-22.0))
    assert foretold.says.startswith("Not enough")
    unknown = cover(-20.0, Cold(heard_degc=None))
    assert unknown.room_k is None
    assert "cannot say" in unknown.says
    for said in (short, foretold, unknown):
        assert "How cold the rest of the winter gets is not known." in said.rests_on


def test_the_cautions_name_poison_the_makers_book_and_the_right_tester() -> None:
    said = " ".join(text for text, _ in CAUTIONS)
    for wanted in ("poisonous", "engine maker's book goes first", "made for that glycol", "Never mix kinds", "slush"):
        assert wanted in said
    assert all(source for _, source in CAUTIONS)
