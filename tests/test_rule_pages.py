"""Every rule has its page, with its headings, and the limits on it are those of the program."""

import pytest
import rule_pages


def test_every_rule_has_its_page() -> None:
    assert rule_pages.missing() == [], f"write these pages in {rule_pages.SOURCES}"


@pytest.mark.parametrize("name", [name for name in rule_pages.subjects() if name not in rule_pages.missing()])
def test_a_page_has_its_headings_and_the_limits_of_the_program(name: str) -> None:
    source = (rule_pages.SOURCES / f"{name}.md").read_text()
    assert list(rule_pages.gaps(source)) == []
    made = (rule_pages.PAGES / f"{name}.md").read_text()
    assert made == rule_pages.filled(name, source), "run: python -m tests.rule_pages"


def test_a_page_without_a_place_for_limits_is_told() -> None:
    with pytest.raises(ValueError, match="followed by"):
        rule_pages.filled("silence", "# Silence\n")
