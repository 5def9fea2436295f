"""Reasons are written to whoever is told; a page says the same of them by name."""

import ast
import re
from pathlib import Path

import pytest

from monitor import telling
from monitor.web.third_person import of_person

_YOU = re.compile(r"\byou(r|rs|rself)?\b", re.IGNORECASE)


def written_to_you() -> list[str]:
    """Give every piece of text in the telling's source that speaks to its reader, docstrings left out."""
    found = []
    for path in sorted(Path(telling.__file__).parent.glob("*.py")):
        tree = ast.parse(path.read_text("utf-8"))
        docs = {id(n.value) for n in ast.walk(tree) if isinstance(n, ast.Expr)}
        texts = [n for n in ast.walk(tree) if isinstance(n, ast.Constant) and id(n) not in docs]
        found += [n.value for n in texts if isinstance(n.value, str) and _YOU.search(n.value)]
    return found


def test_no_reason_of_the_telling_speaks_to_the_reader_of_a_page() -> None:
    reasons = written_to_you()
    assert "you have the duty this week" in reasons
    for reason in reasons:
        said = of_person(reason, "Anna Tolley")
        assert "Anna Tolley" in said
        assert not _YOU.search(said), said


@pytest.mark.parametrize(
    ("reason", "said"),
    [
        ("you have the duty this week", "Ilse has the duty this week"),
        ("for 30 minutes, and you are the manager", "for 30 minutes, and Ilse is the manager"),
        ("you were told of it, and you have it", "Ilse was told of it, and they have it"),
        ("she is yours, and Per has it", "she is Ilse's, and Per has it"),
        ("Per handed it to you, and you have not said yes", "Per handed it to Ilse, and they have not said yes"),
        ("you were told, and Per told you again", "Ilse was told, and Per told them again"),
        ("it is your boat", "it is Ilse's boat"),
        ("the youngest of the yard has it", "the youngest of the yard has it"),
    ],
)
def test_the_first_word_to_somebody_becomes_their_name_and_the_next_they(reason: str, said: str) -> None:
    assert of_person(reason, "Ilse") == said
