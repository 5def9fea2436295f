"""Every kind, cause, first step and thing not to do that a rule can name has words, and every word is used."""

import re
from typing import Any

import pytest
from jinja2 import meta
from walk import FIELDS, Used

from monitor.messages.cautions import cautions
from monitor.messages.phrases import environment, raw_words, rule_words
from monitor.rules.book import RULES
from monitor.rules.rule import Rule

PARTS = sorted(FIELDS.values())
GIVEN = {"vessel", "place", "now_ms", "zone"}
RULE_NAMES = [rule.name for rule in RULES]

every_rule = pytest.mark.parametrize("rule", RULES, ids=RULE_NAMES)


@every_rule
@pytest.mark.parametrize("part", PARTS)
def test_every_code_a_rule_names_has_words(rule: type[Rule[Any]], part: str) -> None:
    wanted = Used(rule).parts[part]
    assert wanted - set(getattr(rule_words(rule.name, "en"), part)) == set()


@every_rule
def test_everything_that_looks_like_a_code_has_words(rule: type[Rule[Any]]) -> None:
    words = rule_words(rule.name, "en")
    known = set(words.causes) | set(words.first) | set(words.never) | set(words.kinds)
    assert Used(rule).codes - known == set()


@every_rule
@pytest.mark.parametrize("part", PARTS)
def test_every_word_kept_is_used_by_its_rule(rule: type[Rule[Any]], part: str) -> None:
    kept = set(raw_words(rule.name, "en").get(part, {}))
    assert kept - Used(rule).strings == set()


@every_rule
def test_the_walk_finds_kinds(rule: type[Rule[Any]]) -> None:
    assert Used(rule).parts["kinds"]


@every_rule
def test_templates_ask_only_for_facts_that_the_rule_gives(rule: type[Rule[Any]]) -> None:
    given = GIVEN | Used(rule).facts
    for where, text in sentences(rule.name):
        asked = meta.find_undeclared_variables(environment("en").parse(text))
        assert asked <= given, f"{where} asks for {asked - given}, which no fact of the rule is called"


@every_rule
def test_labels_of_figures_name_facts_of_the_rule(rule: type[Rule[Any]]) -> None:
    assert set(rule_words(rule.name, "en").figures) <= Used(rule).facts


@every_rule
def test_every_kind_has_a_title_without_a_stop_and_a_sentence(rule: type[Rule[Any]]) -> None:
    for kind, texts in raw_words(rule.name, "en")["kinds"].items():
        assert set(texts) == {"title", "what"}, kind
        assert not texts["title"].rstrip().endswith("."), kind
        assert texts["what"].rstrip().endswith((".", "?", "%}")), kind


@every_rule
def test_every_cause_and_step_is_a_sentence(rule: type[Rule[Any]]) -> None:
    raw = raw_words(rule.name, "en")
    for part in ("causes", "first", "never"):
        for code, text in raw.get(part, {}).items():
            assert text.rstrip().endswith((".", "?", "%}")), f"{part}.{code}"


@every_rule
def test_no_message_promises_safety(rule: type[Rule[Any]]) -> None:
    for where, text in [*sentences(rule.name), *(("caution", c) for c in cautions(rule.name))]:
        assert not re.search(r"\bsafe(ly|ty)?\b", text, re.IGNORECASE), f"{where}: {text}"


def test_every_rule_has_cautions_of_its_own() -> None:
    assert [name for name in RULE_NAMES if cautions(name) == cautions()] == []


def sentences(rule: str) -> list[tuple[str, str]]:
    raw = raw_words(rule, "en")
    found = [(f"kinds.{k}.{p}", t) for k, texts in raw["kinds"].items() for p, t in texts.items()]
    return found + [(f"{part}.{c}", t) for part in PARTS if part != "kinds" for c, t in raw.get(part, {}).items()]
