"""Makes the pages in deploy/docs/rules of those in monitor/rules/pages, with each rule's limits in them.

``python -m tests.rule_pages``. The program carries the text, so that it can show it wherever it is installed.
"""

import sys
from collections.abc import Iterator
from pathlib import Path

from monitor.model.limits import Limit, Limits
from monitor.quality.limits import LIMITS as QUALITY
from monitor.rules.book import RULES
from monitor.rules.cadence import CADENCE
from tests.marked import fill

_HOUSE = Path(__file__).parents[1]
SOURCES = _HOUSE / "monitor" / "rules" / "pages"
PAGES = _HOUSE / "deploy" / "docs" / "rules"
BEGINS, ENDS = "<!-- limits -->", "<!-- /limits -->"
HEADINGS = ("What it watches", "Record and sensors", "Formula", "Limits", "What it cannot know")
_HEAD = "| limit | value | unit | source | reason | what to do |\n|---|---:|---|---|---|---|\n"


def subjects() -> dict[str, Limits]:
    """Give what has a page, by the page's name, with its limits."""
    return {"quality": QUALITY} | {rule.name: rule.limits for rule in RULES}


def table(name: str) -> str:
    """Give the limits of a page as they should stand between its marks."""
    rows = list(subjects()[name])
    if name == "silence":
        rows += [Limit(f"cadence {r.name}", r.value, r.unit, r.source, r.reason, r.do) for r in CADENCE]
    return f"{BEGINS}\n\n{_HEAD}" + "".join(f"{_line(row)}\n" for row in rows) + f"\n{ENDS}"


def filled(name: str, text: str) -> str:
    """Give a page of the program with its limits filled in, as it stands among the docs.

    Raises:
        ValueError: where the page has no place for them.
    """
    return fill(text, BEGINS, ENDS, table(name), f"monitor/rules/pages/{name}.md")


def missing() -> list[str]:
    """Name the pages that are not there."""
    return [name for name in subjects() if not (SOURCES / f"{name}.md").exists()]


def gaps(text: str) -> Iterator[str]:
    """Name the headings that a page lacks."""
    lines = {line.strip() for line in text.splitlines()}
    yield from (heading for heading in HEADINGS if f"## {heading}" not in lines)


def _line(row: Limit) -> str:
    cells = (
        row.name.removesuffix("_degc").replace("_", " "),
        f"{row.value:g}",
        row.unit,
        row.source,
        row.reason,
        row.do,
    )
    return "| " + " | ".join(cell.replace("degC", "°C").replace("|", "\\|").strip() or "-" for cell in cells) + " |"


if __name__ == "__main__":
    for name in subjects():
        source = SOURCES / f"{name}.md"
        if source.exists():
            (PAGES / f"{name}.md").write_text(filled(name, source.read_text()))
        sys.stdout.write(f"{source}{'' if source.exists() else ': missing'}\n")
