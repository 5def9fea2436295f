"""Why somebody was told, said of them by name: their letter says *you*, a page is read by others too."""

import re

_YOU = re.compile(
    r"(?P<before>\b(?:to|for|by|from|with|of|told|tell|reach|reached|asked|ask)\s+)?"
    r"\b(?P<you>you|your|yours|yourself)\b(?:\s+(?P<verb>have|are|were|do)\b)?",
    re.IGNORECASE,
)
_VERBS = {"have": "has", "are": "is", "were": "was", "do": "does"}
_AFTER_THE_NAME = {"you": "they", "your": "their", "yours": "theirs", "yourself": "themselves"}


def of_person(reason: str, person: str) -> str:
    """Say of a person what was said to them: by name at first, after that as *they*.

    >>> of_person("she is yours, and you were told of it", "Anna Tolley")
    "she is Anna Tolley's, and they were told of it"
    >>> of_person("nobody has had it for 30 minutes, and you are second", "Anna Tolley")
    'nobody has had it for 30 minutes, and Anna Tolley is second'
    """
    named = False

    def said(found: re.Match[str]) -> str:
        nonlocal named
        you, verb, before = found["you"].lower(), found["verb"], found["before"] or ""
        if named:
            word = "them" if you == "you" and before and verb is None else _AFTER_THE_NAME[you]
            return f"{before}{word}{'' if verb is None else f' {verb}'}"
        named = True
        name = f"{person}'s" if you in {"your", "yours"} else person
        return f"{before}{name}{'' if verb is None else f' {_VERBS[verb.lower()]}'}"

    return _YOU.sub(said, reason)
