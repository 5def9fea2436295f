"""The cautions every message and page shows: advice only, and who to defer to, by rule."""

from functools import cache

from monitor.messages.phrases import FALLBACK_LANGUAGE, raw_words


@cache
def cautions(rule: str = "", language: str = FALLBACK_LANGUAGE) -> tuple[str, ...]:
    """Give the cautions of a rule's messages, the rule's own first; with no rule, those every page shows."""
    raw = raw_words("cautions", language)
    return (*raw["rules"].get(rule, ()), *raw["always"])
