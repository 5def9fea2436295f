"""Cautions: each once, only those that fit the boat and her trouble, and none that a step says already."""

import re

import pytest
from boats import boat
from examples import HEAD, alert, finding, fleet, notice, waiting

from monitor.messages.cautions import CONDITIONS, about, cautions
from monitor.messages.fleet import SAID_OF
from monitor.messages.letter import write_letter
from monitor.messages.phrases import raw_words
from monitor.model.vessel import Vessel
from monitor.rules.book import RULES

RULE_NAMES = [rule.name for rule in RULES]
RAW = raw_words("cautions", "en")
ALL = [(rule, caution) for rule, listed in RAW["rules"].items() for caution in listed]
ALL += [("", caution) for caution in RAW["always"]]
ASHORE = boat()
AFLOAT = boat(mode="afloat laid up", plot=None, berth="N7", shore_power={"on": True})


def codes() -> set[str]:
    """Every code of a first step and of a thing not to do that has words."""
    parts = (raw_words(rule, "en").get(part, {}) for rule in RULE_NAMES for part in ("first", "never"))
    return set().union(*parts)


@pytest.mark.parametrize(("rule", "caution"), ALL, ids=[c["text"][:40] for _, c in ALL])
def test_a_caution_asks_only_for_what_is_known(rule: str, caution: dict[str, object]) -> None:
    assert rule in {"", *RULE_NAMES}
    assert set(caution) <= {"text", "about", "unless"}
    assert caution.get("about", "ashore") in CONDITIONS
    unless = caution.get("unless", [])
    assert isinstance(unless, list)
    assert set(unless) <= codes()


def test_what_a_fleet_event_says_already_is_named_by_codes_that_there_are() -> None:
    assert set().union(*SAID_OF.values()) <= codes()


def test_a_boat_afloat_is_told_nothing_of_cradle_and_props() -> None:
    water = finding(rule="bilge", subject="bilge", kind="high", first=(), never=())
    ashore = cautions("bilge", so=set(about(ASHORE, water)))
    afloat = cautions("bilge", so=set(about(AFLOAT, water)))
    assert "Cradle and props: only the yard moves them." in ashore
    assert not [c for c in afloat if "props" in c]
    assert [c for c in afloat if "shore post" in c]
    assert not [c for c in ashore if "shore post" in c]


def test_only_a_coolant_is_told_of_coolant() -> None:
    assert "coolant" in set(about(ASHORE, finding()))
    assert not {"coolant", "battery"} & set(about(ASHORE, finding(subject="raw-water")))
    assert "battery" in set(about(ASHORE, finding(subject="house")))


def test_what_a_step_says_is_no_caution_as_well() -> None:
    said = ("strengthen_coolant", "glycol_poison", "no_portable_heater")
    assert len(cautions("frost", so={"coolant"}, said=said)) == len(cautions()) == 2


@pytest.mark.parametrize("vessel", [ASHORE, AFLOAT], ids=["ashore", "afloat"])
def test_a_letter_says_nothing_of_gas_water_and_glycol_twice(vessel: Vessel) -> None:
    never = ("no_stepping_in_live", "no_oily_overboard", "no_switch_if_petrol")
    first = ("power_off_first", "take_somebody", "look_in_bilge")
    facts = {"name": "Bilge", "why": "level jumped", "said_mm": 140.0, "said_ms": 0, "high_mm": 100.0}
    water = finding(
        rule="bilge", subject="bilge", kind="water or sensor", first=first, never=never, causes=(), facts=facts
    )
    text = write_letter(waiting(notice(), (alert(rule="bilge", finding=water), vessel)), HEAD).text
    for words in ("petrol", "oily water", "electrician"):
        assert len(re.findall(words, text, re.IGNORECASE)) == 1, words


@pytest.mark.parametrize("cause", sorted(SAID_OF))
def test_a_fleet_event_says_no_caution_twice(cause: str) -> None:
    lines = [line.lstrip("- 0123456789.") for line in write_letter(fleet(3, cause), HEAD).text.splitlines() if line]
    heaters = [line for line in lines if "portable heater" in line]
    assert len(heaters) == (cause == "frost")
    assert len(set(lines)) == len(lines)
