"""What a form shows of a value is read back as the same value, whatever the value."""

from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.model.vessel import Vessel
from monitor.web.form_fields import FormField, Takes, fields_of
from monitor.web.form_ids import id_from
from monitor.web.form_parts import BOAT, PARTS
from monitor.web.form_read import TypedError, value_of
from monitor.web.form_show import text_of
from monitor.web.record_form_kept import same_times

LONDON = ZoneInfo("Europe/London")
NUMBERS = [one for part in PARTS.values() for one in fields_of(part) if one.takes is Takes.NUMBER]
SCALES = sorted({one.scale for one in NUMBERS})


def test_the_forms_have_numbers_in_other_units_than_the_record() -> None:
    assert [Decimal("0.001"), Decimal(1), Decimal(60)] == SCALES


@given(value=st.floats(1e-6, 1e6) | st.floats(-1e3, -1e-3) | st.integers(1, 86_400).map(float))
def test_a_number_is_read_back_as_it_was_shown(value: float) -> None:
    for scale in SCALES:
        found = next(one for one in NUMBERS if one.scale == scale)
        one = replace(found, words={key: told for key, told in found.words.items() if key not in {"least", "most"}})
        assert value_of(one, text_of(one, value, LONDON), LONDON) == value


@given(at=st.datetimes(datetime(2000, 1, 1), datetime(2040, 1, 1), timezones=st.just(UTC)))  # noqa: DTZ001 - bounds
def test_a_time_that_nobody_changed_stays_the_same_moment_even_where_the_clock_shows_an_hour_twice(
    at: datetime,
) -> None:
    field = next(one for one in fields_of(BOAT) if one.takes is Takes.TIME)
    record = Vessel.model_construct(laid_up=at)
    assert same_times([field], record, {"laid_up": text_of(field, at, LONDON)}, LONDON) == {"laid_up": at}
    assert same_times([field], record, {"laid_up": "2013-01-01T10:00"}, LONDON) == (
        {"laid_up": at} if text_of(field, at, LONDON) == "2013-01-01T10:00" else {}
    )


@pytest.mark.parametrize(
    ("typed", "value"),
    [("12,5", 12.5), ("12.5", 12.5), (" 7 Ah", 7.0), ("+3", 3.0), (".5", 0.5), ("\N{MINUS SIGN}4", -4.0)],
)
def test_a_number_is_read_as_people_write_it(typed: str, value: float) -> None:
    one = next(one for one in fields_of(PARTS["batteries"]) if one.name == "capacity_ah")
    assert value_of(one, typed, LONDON) == value


@pytest.mark.parametrize("typed", ["1.234,5", "1e3", "nan", "inf", "twelve", "-", "1_000", "\u0661"])
def test_what_is_no_number_is_told_and_never_guessed(typed: str) -> None:
    one = next(one for one in fields_of(PARTS["batteries"]) if one.name == "capacity_ah")
    with pytest.raises(TypedError, match="is no number"):
        value_of(one, typed, LONDON)


@pytest.mark.parametrize("typed", ["12 V", "12V", "1,2 kAh", "5 mm"])
def test_a_number_in_another_unit_is_told_which_one_is_asked_for(typed: str) -> None:
    one = next(one for one in fields_of(PARTS["batteries"]) if one.name == "capacity_ah")
    with pytest.raises(TypedError, match="write the number alone, in Ah"):
        value_of(one, typed, LONDON)


def test_a_field_that_must_be_filled_says_so_and_one_that_may_stay_empty_is_nothing() -> None:
    one: FormField = next(one for one in fields_of(PARTS["batteries"]) if one.name == "capacity_ah")
    with pytest.raises(TypedError, match="Fill this in"):
        value_of(one, "  ", LONDON)
    assert value_of(replace(one, required=False), "  ", LONDON) is None


@given(name=st.text(max_size=80))
def test_an_id_made_of_any_name_is_an_id_or_nothing(name: str) -> None:
    made = id_from(name, {"heads"})
    assert all(c.isascii() and (c.isdigit() or c.islower() or c == "-") for c in made)
    assert len(made) <= 48
    assert not made.startswith("-")
