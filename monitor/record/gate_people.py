"""Whether two names could be those of one person: at the gate one pair of eyes counts once, however it is spelled."""

import re
import unicodedata
from collections import Counter

_WORDS = re.compile(r"[^\W_]+")


def may_be_one(name: str, other: str) -> bool:
    """Say whether two names could be one person's, written otherwise: in another case or order, short, with initials.

    Two people too many are asked to write their names out; one who signs twice would be worse.

    >>> may_be_one("Anna Tolley", "a. tólley"), may_be_one("Tolley, Anna", "Anna"), may_be_one("Anna", "Anna Tolley")
    (True, True, True)
    >>> may_be_one("Anna Tolley", "Adam Tolley"), may_be_one("Per", "Anna")
    (False, False)
    """
    one, two = _words(name), _words(other)
    few, many = sorted((one, two), key=len)
    if not few:
        return True  # a name without a letter names nobody in particular
    left = Counter(many)
    # Whole words first, so that an initial does not take the place of one.
    for word in sorted(few, key=len, reverse=True):
        match = next((m for m in left if left[m] and _fits(word, m)), None)
        if match is None:
            return False
        left[match] -= 1
    return True


def _fits(word: str, other: str) -> bool:
    return word == other or (1 in {len(word), len(other)} and word[0] == other[0])


def _words(name: str) -> list[str]:
    """Give a name's words without case, accents, signs or what cannot be seen."""
    plain = unicodedata.normalize("NFKD", name).casefold()
    seen = "".join(c for c in plain if unicodedata.category(c) not in {"Mn", "Cf", "Cc"} or c.isspace())
    return _WORDS.findall(seen)
