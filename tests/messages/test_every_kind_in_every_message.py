"""Every kind of every rule in every kind of message, to duty and owner: all words there, none that nobody may read."""

import json
import re
from typing import Any

import pytest
from boats import HOUR, boat
from examples import CARD, HEAD, NOW, alert, finding, notice, waiting
from jinja2 import meta

from monitor.messages.hook import write_hook
from monitor.messages.letter import write_letter
from monitor.messages.phrases import environment, raw_words
from monitor.messages.short import LONGEST_BODY, LONGEST_TITLE, write_short
from monitor.model.notice import NoticeKind
from monitor.model.scale import AlertState
from monitor.rules.book import RULES

TERN = boat(card=CARD)
SPEAKERS = (*(rule.name for rule in RULES), "watch")
KINDS = [(rule, kind) for rule in SPEAKERS for kind in raw_words(rule, "en")["kinds"]]
TEXTS = {"name", "how", "foretold_by", "what", "what_it_measures", "where", "unit", "why", "after", "pump", "mains"}
TEXTS |= {"reaches", "open_names", "drains", "last", "feeds", "other", "rule"}
DATES = {"changed", "tested", "due"}
TIMES = {"until", "foretold_at", "watch_until", "visit_by"}
STATES: tuple[dict[str, Any], ...] = (
    {},
    {"state": AlertState.ACKNOWLEDGED, "has_it": "Per", "acknowledged_by": "Per", "acknowledged_ms": NOW},
    {"state": AlertState.RETURNED_UNACKNOWLEDGED, "returned_ms": NOW},
    {"state": AlertState.LATCHED, "returned_ms": NOW, "latching": True},
    {"state": AlertState.SHELVED, "aside_by": "Per", "aside_why": "painter", "aside_until_ms": NOW + HOUR},
    {"state": AlertState.NORMAL, "returned_ms": NOW, "ended_ms": NOW},
)
NOT_TO_BE_READ = re.compile(
    r"\bsafe|\bNone\b|\bnan\b|\{|[^ \n]  |(?<!\.)\.\.(?!\.)|latched|shelved|suppress|unacknowledged|out of service"
)


def facts_for(rule: str) -> dict[str, Any]:
    """Give every fact that the rule's words ask for a value that its name allows."""
    raw = raw_words(rule, "en")
    texts = [t for kind in raw["kinds"].values() for t in kind.values()]
    texts += [t for part in ("causes", "first", "never") for t in raw.get(part, {}).values()]
    asked = set().union(*(meta.find_undeclared_variables(environment("en").parse(t)) for t in texts))
    return {name: _value(name) for name in asked - {"vessel", "place", "now_ms", "zone"}}


def _value(name: str) -> float | str | int:
    if name in DATES:
        return "2013-10-12"
    if name in TEXTS:
        return "it"
    return NOW - HOUR if name.endswith("_ms") or name in TIMES else 7.0


@pytest.mark.parametrize(("rule", "kind"), KINDS, ids=[f"{r}-{k}" for r, k in KINDS])
def test_a_kind_has_its_words_in_every_message(rule: str, kind: str) -> None:
    raw = raw_words(rule, "en")
    codes = {part: tuple(raw.get(part, {})) for part in ("causes", "first", "never")}
    about = finding(rule=rule, kind=kind, facts=facts_for(rule), **codes)
    steps = {step for step in raw["first"].values() if "{" not in step}
    for told in set(NoticeKind) - {NoticeKind.TEST}:
        for state in STATES:
            for owner in (False, True):
                due = waiting(notice(told, owner=owner), (alert(rule=rule, finding=about, **state), TERN))
                written = write_letter(due, HEAD, strict=True)
                title, body = write_short(due, HEAD, strict=True)
                assert (len(title) <= LONGEST_TITLE, len(body) <= LONGEST_BODY) == (True, True)
                hook = json.dumps(write_hook(due, HEAD, strict=True), ensure_ascii=False)
                lines = [line.lstrip("- 0123456789.") for line in written.text.splitlines() if line]
                assert [line for line in set(lines) if lines.count(line) > 1] == []
                for text in (written.subject, written.text, title, body):
                    assert not NOT_TO_BE_READ.search(text), NOT_TO_BE_READ.search(text)
                if owner:
                    for text in (written.text, written.html, body, hook):
                        assert not [step for step in steps if step in text]
                        assert "hook 9" not in text
