"""The pages of the rules as they are written, with the limits of the program, made into HTML.

The text is the house's own; even so no HTML in it is let through, and a link to another page of the docs is only
followed where this program shows that page.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import PurePosixPath
from typing import Any

from markdown_it import MarkdownIt
from markdown_it.token import Token
from markupsafe import Markup

from monitor.model.limits import Limit
from monitor.quality.limits import LIMITS as QUALITY
from monitor.rules.book import RULES
from monitor.rules.cadence import CADENCE

_TEXTS = resources.files("monitor.rules") / "pages"
_PART = re.compile(r"^## (.+?)\s*$", re.MULTILINE)
_LIMITS_BEGIN, _LIMITS_END = "<!-- limits -->", "<!-- /limits -->"
LIMITS_OF: dict[str, tuple[Limit, ...]] = {rule.name: tuple(rule.limits) for rule in RULES} | {
    "quality": tuple(QUALITY)
}
"""What has a page, by its name, with its limits."""


@dataclass(frozen=True, slots=True)
class RulePage:
    """A rule's page: its title, what stands before and after its limits, its limits, and those of its cadences.

    Its parts are the anchors of its headings, and their words.
    """

    name: str
    title: str
    parts: tuple[tuple[str, str], ...]
    before: Markup
    after: Markup
    limits: tuple[Limit, ...]
    cadences: tuple[Limit, ...]


@cache
def rule_page(name: str) -> RulePage:
    """Give the page of a rule.

    Raises:
        KeyError: where there is none of that name.
    """
    limits = LIMITS_OF[name]
    text = _text(name)
    before, _, rest = text.partition(_LIMITS_BEGIN)
    after = rest.partition(_LIMITS_END)[2]
    heading, _, body = before.partition("\n")
    cadences = tuple(CADENCE) if name == "silence" else ()
    title = heading.removeprefix("# ").strip()
    parts = tuple((_slug(words), words) for words in _PART.findall(text))
    return RulePage(name, title, parts, _html(body), _html(after), limits, cadences)


@cache
def formula(name: str) -> Markup:
    """Give what stands under a rule's heading *Formula*."""
    return _html(_section(name, "Formula"))


@cache
def when_told(name: str, kind: str) -> tuple[str, ...]:
    """Give when a rule tells of a kind, as the table *What it watches* has it: one sentence a row."""
    rows = [
        [cell.strip() for cell in line.strip("| ").split("|")]
        for line in _section(name, "What it watches").splitlines()
        if line.startswith("|")
    ]
    if not rows or "when" not in rows[0]:
        return ()
    when = rows[0].index("when")
    return tuple(row[when] for row in rows[2:] if kind in [part.strip() for part in row[0].split(",")])


def _text(name: str) -> str:
    return (_TEXTS / f"{name}.md").read_text("utf-8")


def _section(name: str, heading: str) -> str:
    after = _text(name).partition(f"\n## {heading}\n")[2]
    return after.partition("\n## ")[0]


def _slug(heading: str) -> str:
    return f"part-{re.sub('[^a-z0-9]+', '-', heading.lower()).strip('-')}"


def _html(text: str) -> Markup:
    markdown = _markdown()
    tokens = markdown.parse(text)
    for at, token in enumerate(tokens):
        if token.type == "heading_open" and token.tag == "h2":
            token.attrSet("id", _slug(tokens[at + 1].content))
        if token.children:
            token.children = _links_that_lead(token.children)
    return Markup(markdown.renderer.render(tokens, markdown.options, {}))  # noqa: S704 - escaped: html is off


@cache
def _markdown() -> MarkdownIt:
    made = MarkdownIt("commonmark", {"html": False}).enable("table")
    made.add_render_rule("table_open", _table_open)
    made.add_render_rule("table_close", _table_close)
    return made


def _table_open(_renderer: Any, _tokens: Sequence[Token], _at: int, _options: Any, env: dict[str, int]) -> str:  # noqa: ANN401
    env["tables"] = env.get("tables", 0) + 1
    return f'<div class="wide-table" role="group" aria-label="Table {env["tables"]}" tabindex="0"><table>\n'


def _table_close(*_args: object) -> str:
    return "</table></div>\n"


def _links_that_lead(tokens: Sequence[Token]) -> list[Token]:
    """Lead a line's links to pages of the docs to those of this program; one that it does not show is left out."""
    kept: list[Token] = []
    leads = True
    for token in tokens:
        if token.type == "link_open":
            target = str(token.attrGet("href") or "")
            if target.endswith(".md"):
                name = PurePosixPath(target).stem
                leads = name in LIMITS_OF
                token.attrSet("href", f"/rules/{name}")
        if token.type not in {"link_open", "link_close"} or leads:
            kept.append(token)
        if token.type == "link_close":
            leads = True
    return kept
