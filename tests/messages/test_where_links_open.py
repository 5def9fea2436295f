"""Links stand in messages where whoever reads them elsewhere can open them, and else not."""

from concurrent.futures import Future
from pathlib import Path
from typing import Any

import pytest
from examples import waiting

from monitor.messages.letter import write_letter
from monitor.messages.links import LinkSigner
from monitor.post import Given, Post
from monitor.settings import Settings
from monitor.store.journal import Journal
from monitor.store.outbox import JournalOutbox
from monitor.store.view import JournalView


def written(folder: Path, served_at: str, **web: Any) -> str:
    """Write a letter as the post of a yard does whose pages are served at an address."""
    path = folder / "journal.sqlite"
    parts = (Journal(path), JournalOutbox(path), JournalView(path))
    _, outbox, view = parts
    settings = Settings.model_validate({"yard": {"id": "quay", "name": "Quay"}, "web": web})
    given = Given(outbox, view, lambda: served_at, LinkSigner(bytes(32)), lambda _: Future(), lambda: None)
    text = write_letter(waiting(), Post(settings, given).letterhead()).text
    for part in parts:
        part.close()
    return text


@pytest.mark.parametrize(
    ("served_at", "web"),
    [
        ("http://127.0.0.1:8080", {}),
        ("http://0.0.0.0:8080", {"host": "0.0.0.0"}),  # noqa: S104 - settings, nothing is served
        ("https://watch.quay.example", {"address": "https://watch.quay.example", "enabled": False}),
    ],
    ids=["loopback", "every address and none named", "no pages"],
)
def test_where_a_phone_could_open_no_page_no_link_is_sent(tmp_path: Path, served_at: str, web: dict[str, Any]) -> None:
    text = written(tmp_path, served_at, **web)
    assert "://" not in text
    assert "coldberth alert acknowledge" in text


@pytest.mark.parametrize(
    ("served_at", "web"),
    [
        ("https://watch.quay.example", {"address": "https://watch.quay.example"}),
        ("http://127.0.0.1:8080", {"address": "http://127.0.0.1:8080"}),
        ("http://10.0.0.5:8080", {"host": "10.0.0.5"}),
    ],
    ids=["named", "loopback on purpose", "an address of its own"],
)
def test_where_it_can_the_links_begin_with_that_address(tmp_path: Path, served_at: str, web: dict[str, Any]) -> None:
    text = written(tmp_path, served_at, **web)
    assert f"I have it: {served_at}/a/" in text
    assert f"Her page: {served_at}/vessels/tern" in text
    assert "coldberth" not in text
