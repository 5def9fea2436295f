"""Writes deploy/docs/checks.md: every check of the science against the world. ``python -m tests.checks``."""

import importlib.util
import sys
from collections.abc import Callable, Iterator
from math import ceil, floor, log10
from pathlib import Path

HERE = Path(__file__).parent
PAGE = HERE.parent / "deploy" / "docs" / "checks.md"
Figure = Callable[[], float] | float
Row = tuple[str, str, Figure, Figure, float, str]

_SIGNIFICANT, _COARSE = 6, 10.0
_TOP = """# Checks against the world

Every formula is held against something outside this project: a printed table, a standard's check value, an independent
library. The tests in `tests/reference` run these checks; this page is written from the same rows by
`python -m tests.checks`, and a test fails where it is not up to date. The tolerance is the source's own claimed error,
or the last digit it prints, never what makes a check pass. *REFERENCES.md* is the collection of published figures that
this project was begun with.
"""
_HEAD = "| check | source | ours | theirs | tolerance | why that tolerance |\n|---|---|---:|---:|---:|---|\n"


def page() -> str:
    """Give the page as it should be."""
    parts = [_TOP]
    for title, rows in tables():
        parts.append(f"\n## {title}\n\n{_HEAD}" + "".join(f"{_line(row)}\n" for row in rows))
    return "".join(parts)


def tables() -> Iterator[tuple[str, list[Row]]]:
    """Give the rows of every file of reference tests that has some, with its title."""
    for path in sorted((HERE / "reference").glob("test_*_reference.py")):
        module = sys.modules.get(path.stem)
        if module is None:
            spec = importlib.util.spec_from_file_location(path.stem, path)
            assert spec is not None
            assert spec.loader is not None
            module = sys.modules[path.stem] = importlib.util.module_from_spec(spec)
            spec.loader.exec_module(module)
        rows: list[Row] = getattr(module, "CHECKS", [])
        if rows:
            yield (module.__doc__ or path.stem).partition("\n")[0].rstrip("."), rows


def _line(row: Row) -> str:
    check, source, ours, theirs, tolerance, why = row
    mine, other = _figure(ours), _figure(theirs)
    digits = _digits(tolerance, max(abs(mine), abs(other)))
    figures = [_plain(mine, digits), _plain(other, digits), f"{tolerance:.2g}" if tolerance else "none"]
    return "| " + " | ".join([_cell(check), _cell(source), *figures, _cell(why)]) + " |"


def _figure(figure: Figure) -> float:
    return float(figure() if callable(figure) else figure)


def _digits(tolerance: float, size: float) -> int | None:
    """Give how many decimals show a difference as large as the tolerance, and no more than every machine agrees on.

    None where there is no tolerance: then as many as it takes.
    """
    if tolerance <= 0:
        return None
    most = _SIGNIFICANT - 1 - (floor(log10(size)) if size > 0 else 0)
    return max(min(max(ceil(-log10(tolerance)), int(tolerance < _COARSE)), most), 0)


def _plain(value: float, digits: int | None) -> str:
    text = f"{value:g}" if digits is None else f"{value:.{digits}f}"
    return text.removeprefix("-") if float(text) == 0 else text


def _cell(text: str) -> str:
    return text.replace("|", "\\|").replace("\n", " ")


if __name__ == "__main__":
    sys.path.insert(0, str(HERE))
    PAGE.write_text(page())
    sys.stdout.write(f"{PAGE}\n")
