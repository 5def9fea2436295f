"""The word files of a language, loaded and compiled once."""

import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from jinja2 import StrictUndefined, Template, pass_context
from jinja2.runtime import Context
from jinja2.sandbox import ImmutableSandboxedEnvironment

from monitor.messages.figures import Figures

FALLBACK_LANGUAGE = "en"
FILTERS = (
    *("degc", "kelvin", "mm", "mm_an_hour", "mm_a_day", "metres", "litres", "volts", "amps", "ah", "pct"),
    *("minutes", "hours", "days", "date"),
)


class MissingWordsError(LookupError):
    """No words are kept for a rule, a kind or a code."""


@dataclass(frozen=True, slots=True)
class RuleWords:
    """The words of one rule.

    Attributes:
        kinds: by kind, its templates ``title`` and ``what``.
        causes: by code. ``first`` and ``never`` likewise.
        aboard: what to look at aboard once an alert has cleared that waits for it.
        figures: labels of facts that are shown among the figures, by the fact's name.
    """

    kinds: Mapping[str, Mapping[str, Template]]
    causes: Mapping[str, Template]
    first: Mapping[str, Template]
    never: Mapping[str, Template]
    aboard: tuple[Template, ...]
    figures: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Common:
    """The words of a language that belong to no rule: by section and key; and how it writes figures."""

    sections: Mapping[str, Any]
    figures: Figures

    def template(self, *keys: str) -> Template:
        """Give a template by its path, such as ``("harm", "between")``."""
        found: Any = self.sections
        for key in keys:
            found = found[key]
        if not isinstance(found, Template):
            raise MissingWordsError(f"common.toml: {'.'.join(keys)} is no sentence")
        return found

    def sentences(self, *keys: str) -> tuple[str, ...]:
        """Give a list of sentences by its path; empty where there is none of that name."""
        found: Any = self.sections
        for key in keys:
            found = found.get(key, ())
        return tuple(template.render() for template in found)


def raw_words(name: str, language: str) -> dict[str, Any]:
    """Read a word file as it is written; English stands in for the file, or for any sentence that it lacks.

    Raises:
        MissingWordsError: where there is none of that name, neither in the language nor in English.
    """
    spoken = [_read(name, part) for part in dict.fromkeys((FALLBACK_LANGUAGE, language.partition("-")[0]))]
    if not any(spoken):
        raise MissingWordsError(f"no file {name}.toml in monitor/messages/{language}")
    return _over(*spoken) if len(spoken) > 1 else spoken[0]


def _read(name: str, language: str) -> dict[str, Any]:
    if language.isalpha() and name.replace("_", "").isalnum():
        file = resources.files("monitor.messages") / language / f"{name}.toml"
        if file.is_file():
            return tomllib.loads(file.read_text("utf-8"))
    return {}


def _over(under: Mapping[str, Any], over: Mapping[str, Any]) -> dict[str, Any]:
    """Lay the words of a language over those that stand in for it."""
    both = {k: _over(v, over[k]) for k, v in under.items() if isinstance(v, dict) and isinstance(over.get(k), dict)}
    return {**under, **over, **both}


@cache
def rule_words(rule: str, language: str) -> RuleWords:
    """Give the words of a rule.

    Raises:
        MissingWordsError: where no file is kept for it.
    """
    raw, env = raw_words(rule, language), environment(language)
    return RuleWords(
        kinds={kind: _compiled(env, texts) for kind, texts in raw.get("kinds", {}).items()},
        causes=_compiled(env, raw.get("causes", {})),
        first=_compiled(env, raw.get("first", {})),
        never=_compiled(env, raw.get("never", {})),
        aboard=tuple(env.from_string(text) for text in raw.get("aboard", ())),
        figures=raw.get("figures", {}),
    )


@cache
def common(language: str) -> Common:
    """Give the words of a language that belong to no rule."""
    raw, env = raw_words("common", language) | raw_words("letter", language), environment(language)
    plain = {"labels", "units", "calendar"}
    sections = {name: dict(part) if name in plain else _tree(env, part) for name, part in raw.items()}
    return Common(sections, Figures(raw["units"], raw["calendar"]))


@cache
def environment(language: str) -> ImmutableSandboxedEnvironment:
    """Give the template engine of a language. Text is not escaped here: that is the business of pages and e-mail."""
    raw = raw_words("common", language)
    figures = Figures(raw["units"], raw["calendar"])
    env = ImmutableSandboxedEnvironment(undefined=StrictUndefined, autoescape=False)
    env.filters.update(dict(_filters(figures)))
    return env


def _filters(figures: Figures) -> Iterator[tuple[str, Callable[..., str]]]:
    for name in FILTERS:
        yield name, getattr(figures, name)
    yield "number", figures.number
    yield "span", figures.span

    @pass_context
    def clock(context: Context, at_ms: int) -> str:
        return figures.clock(at_ms, context["now_ms"], context["zone"])

    yield "clock", clock

    @pass_context
    def day(context: Context, at_ms: int) -> str:
        return figures.day(at_ms, context["now_ms"], context["zone"])

    yield "day", day


def _compiled(env: ImmutableSandboxedEnvironment, texts: Mapping[str, str]) -> dict[str, Template]:
    return {code: env.from_string(text) for code, text in texts.items()}


def _tree(env: ImmutableSandboxedEnvironment, part: Mapping[str, Any]) -> dict[str, Any]:
    return {key: _branch(env, value) for key, value in part.items()}


def _branch(env: ImmutableSandboxedEnvironment, value: Any) -> Any:  # noqa: ANN401 - a table, a list or a sentence
    if isinstance(value, dict):
        return _tree(env, value)
    if isinstance(value, list):
        return tuple(env.from_string(sentence) for sentence in value)
    return env.from_string(value)
