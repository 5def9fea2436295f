"""Sets a report as PDF. Names and notes reach the typesetter as data, never as its markup."""

import json
import unicodedata
from importlib import resources
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Lock

import typst

from monitor.report.drawn import drawn
from monitor.report.gather import Shelf, gathered
from monitor.report.winter import Winter

_TEMPLATE = "report.typ"
_UNSEEN = frozenset({"Cc", "Cf"})
_one_at_a_time = Lock()
"""A report is seconds of a processor: people who ask at once wait for each other, and the watch goes on."""


def report_pdf(shelf: Shelf, winter: Winter) -> bytes:
    """Make the report of a winter."""
    with _one_at_a_time:
        files = report_files(shelf, winter)
        with TemporaryDirectory() as folder:
            for name, content in files.items():
                (Path(folder) / name).write_bytes(content)
            # It reads nothing outside that folder.
            return typst.compile(
                Path(folder) / _TEMPLATE, root=Path(folder), format="pdf", timestamp=shelf.now_ms // 1000
            )


def report_files(shelf: Shelf, winter: Winter) -> dict[str, bytes]:
    """Give what is set: the template, the data and the charts, by the names the template has for them."""
    data, charts = gathered(shelf, winter)
    template = (resources.files("monitor.report") / _TEMPLATE).read_bytes()
    pictures = {f"chart-{number}.png": drawn(panel) for number, panel in enumerate(charts)}
    return {_TEMPLATE: template, "data.json": json.dumps(_seen(data)).encode(), **pictures}


def _seen(value: object) -> object:
    """Take out signs that nobody sees: one that turns the direction of writing in a name would turn the page's own."""
    match value:
        case str():
            return "".join(c for c in value if c == "\n" or unicodedata.category(c) not in _UNSEEN)
        case list():
            return [_seen(one) for one in value]
        case dict():
            return {key: _seen(one) for key, one in value.items()}
        case _:
            return value
