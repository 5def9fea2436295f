"""Every finding has words for an owner: plain ones, without figures, ids and the words of engineers."""

import re
from dataclasses import replace
from typing import Any

import pytest
from yards import frost, record

from monitor.messages.phrases import raw_words
from monitor.model.equipment import SystemKind
from monitor.model.finding import Finding
from monitor.model.inputs import Aboard
from monitor.model.quantity import Quantity
from monitor.model.scale import Priority
from monitor.model.vessel import Mode
from monitor.model.visit import Found
from monitor.rules.book import RULES
from monitor.web.owner_words import has_words, lowered, say, thing_of, what_is, within

WORDS = raw_words("owner", "en")
KINDS = [(rule.name, kind) for rule in RULES for kind in raw_words(rule.name, "en")["kinds"]] + [
    ("watch", kind) for kind in raw_words("watch", "en")["kinds"]
]
SUBJECTS = ("closed-cooling", "house", "main", "saloon", "cabin-rh", "gateway")


def found(rule: str, kind: str, subject: str, **facts: Any) -> Finding:
    return replace(frost(Priority.WARNING), rule=rule, subject=subject, kind=kind, facts=facts)


@pytest.mark.parametrize(("rule", "kind"), KINDS)
def test_every_kind_of_every_rule_has_words_for_an_owner(rule: str, kind: str) -> None:
    assert has_words(rule, kind), f"owner.toml says nothing of {rule} {kind!r}"
    boat = record("amber-lark", "Amber Lark")
    for subject in SUBJECTS:
        for over in (False, True):
            for facts in ({}, {"frozen": True, "begun": True, "heard_again_ms": 1}):
                text = what_is(found(rule, kind, subject, **facts), boat, over=over)
                assert text[0].isupper(), text
                assert not text.endswith("."), text
                assert not re.search(r"\d|\bsafe|_|closed-cooling|cabin-rh|gateway|None", text), text


def test_words_are_kept_for_no_kind_that_no_rule_has() -> None:
    kept = {(rule, kind) for rule, kinds in WORDS["kinds"].items() if rule != "any" for kind in kinds}
    assert kept <= set(KINDS)


def test_a_finding_without_words_is_told_all_the_same() -> None:
    boat = record("amber-lark", "Amber Lark")
    assert what_is(found("new-rule", "odd", "x"), boat, over=False) == "Something aboard is not as it should be"
    assert what_is(found("new-rule", "odd", "x"), boat, over=True).endswith("and is again")


def test_things_are_called_as_people_call_them() -> None:
    boat = record("amber-lark", "Amber Lark")
    assert thing_of(frost(Priority.ALARM), boat) == "the engine's cooling"
    assert thing_of(found("bilge", "float", "main"), boat) == "the main bilge"
    assert thing_of(found("silence", "sensor", "cabin-rh"), boat) == "how damp it is, saloon"
    assert thing_of(found("silence", "gateway", "gateway"), boat) == "something aboard"
    assert lowered("VHF battery") == "VHF battery"


@pytest.mark.parametrize("mode", list(Mode))
def test_every_way_she_can_lie_has_words(mode: Mode) -> None:
    assert within("where", mode.value, place="plot B2").replace(" at plot B2", "")
    assert "plot" not in within("where", mode.value, place="")


@pytest.mark.parametrize(
    ("section", "code"),
    [
        *(("found", f.value) for f in Found),
        *(("aboard", a.value) for a in Aboard),
        *(("things", k.value) for k in SystemKind),
        *(("watched", q.value) for q in Quantity),
    ],
)
def test_every_code_that_is_told_to_an_owner_has_words(section: str, code: str) -> None:
    assert say(section, code)


@pytest.mark.parametrize(("count", "told"), [(1, "Her one valve below the water is shut."), (3, "Her 3 valves below")])
def test_one_seacock_is_told_as_one(count: int, told: str) -> None:
    assert say("layup", "seacocks_shut", count=count).startswith(told)
