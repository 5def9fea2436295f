"""The words of the round and of visits, from ``messages/<language>/round.toml``."""

from functools import cache

from jinja2 import Template

from monitor.messages.figures import Figures
from monitor.messages.phrases import FALLBACK_LANGUAGE, common, environment, raw_words
from monitor.messages.plain import capital, one_line
from monitor.model.visit import Read
from monitor.record.checks import Taking

MM_PER_M = 1000
LONGEST = 600


@cache
def said(*keys: str, language: str = FALLBACK_LANGUAGE) -> str:
    """Give a text as it is written, by its path in the file.

    Raises:
        KeyError: where there is none; a test walks every code.
    """
    found = raw_words("round", language)
    for key in keys:
        found = found[key]
    return str(found)


def say(*keys: str, **names: object) -> str:
    """Give a text with the names in it put in, as one line that begins with a capital."""
    template = _template(keys)
    plain = {k: one_line(v) if isinstance(v, str) else v for k, v in names.items()}
    return capital(one_line(template.render(plain), LONGEST))


@cache
def _template(keys: tuple[str, ...]) -> Template:
    return environment(FALLBACK_LANGUAGE).from_string(said(*keys))


def taking_name(taking: Taking) -> str:
    """Give a reading's name, such as ``Main bilge, dip``."""
    return say("takings", taking.what.value, "name", name=taking.name)


def figures() -> Figures:
    """Give how figures are written."""
    return common(FALLBACK_LANGUAGE).figures


def reading(what: Read, value: float | None) -> str:
    """Give a reading with its unit."""
    shown = figures()
    return {Read.DIP: shown.metres, Read.VOLTS: shown.volts, Read.HUMIDITY: shown.pct, Read.TEMPERATURE: shown.degc}[
        what
    ](value)


def apart(what: Read, value: float, more: int = 0) -> str:
    """Give a difference of two readings with its unit; ``more`` digits than usual where two would look the same."""
    scale, digits = (MM_PER_M, 0) if what is Read.DIP else (1, 2 if what is Read.VOLTS else 1)
    return f"{figures().number(value * scale, digits + more)} {said('takings', what.value, 'unit')}"
