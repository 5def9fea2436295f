"""Finds the files of the work lists: ours in this package, a yard's in a folder of its own."""

from functools import cache
from importlib import resources
from pathlib import Path

from monitor.model.document import DocumentError
from monitor.record.work_list import WorkLists
from monitor.record.work_list_read import ListText, read_work_lists


def work_lists(folder: Path | None = None) -> WorkLists:
    """Give the lists as they hold for a yard: ours, with what its own folder changes of them.

    Raises:
        DocumentError: where a file cannot be used, with every mistake found.
    """
    return shipped() if folder is None else read_work_lists(_ours(), _of(folder))


@cache
def shipped() -> WorkLists:
    """Give our own lists alone."""
    return read_work_lists(_ours())


def _ours() -> list[ListText]:
    files = (resources.files("monitor.record") / "work").iterdir()
    named = sorted((file.name, file) for file in files if file.name.endswith(".toml"))
    return [ListText(name, file.read_text("utf-8")) for name, file in named]


def _of(folder: Path) -> list[ListText]:
    if not folder.is_dir():
        raise DocumentError(f"{folder}: [yard] work_lists names it, and there is no such folder")
    texts, wrong = [], []
    for file in sorted(folder.glob("*.toml")):
        try:
            texts.append(ListText(str(file), file.read_text("utf-8")))
        except (OSError, UnicodeDecodeError) as error:
            wrong.append(f"{file}: cannot be read: {error}")
    if wrong:
        raise DocumentError("\n".join(wrong))
    return texts
