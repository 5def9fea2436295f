"""The channels put together: what there is a sender for, and what it says where nobody can be told."""

from collections.abc import Callable, Iterator
from concurrent.futures import Future
from pathlib import Path
from typing import Any

import pytest

from monitor.messages.links import LinkSigner
from monitor.model.people import ChannelKind
from monitor.post import Given, Post
from monitor.settings import Settings
from monitor.store.journal import Journal
from monitor.store.outbox import JournalOutbox
from monitor.store.view import JournalView

MAIL = {"host": "127.0.0.1", "port": 25, "security": "none", "sender": "watch@yard.example"}
ANNA = {"id": "anna", "name": "Anna", "email": "anna@yard.example"}
RING = {"kind": "service", "address": "json://127.0.0.1:9/anna", "rings": True}
HOOK = {"secret": "whsec_Y29sZGJlcnRoIGFjY2VwdGFuY2UgdGVzdCBrZXk="}


@pytest.fixture
def make(tmp_path: Path) -> Iterator[Callable[..., Post]]:
    path = tmp_path / "journal.sqlite"
    parts = (Journal(path), JournalOutbox(path), JournalView(path))
    _, outbox, view = parts
    given = Given(outbox, view, lambda: "http://x", LinkSigner(bytes(32)), lambda _: Future(), lambda: None)

    def made(clock: str = "wall", **tables: Any) -> Post:
        return Post(Settings(yard={"id": "quay", "name": "Quay"}, journal={"clock": clock}, **tables), given)  # type: ignore[arg-type]

    yield made
    for part in parts:
        part.close()


def test_there_is_a_sender_for_what_the_settings_have(make: Callable[..., Post]) -> None:
    assert make().channels == frozenset()
    assert make(mail=MAIL).channels == {ChannelKind.EMAIL}
    everything = make(mail=MAIL, webhook=HOOK, people=[{**ANNA, "channels": [RING]}])
    assert everything.channels == set(ChannelKind)


def test_what_is_planned_for_is_what_there_are_senders_for(make: Callable[..., Post]) -> None:
    for tables in ({}, {"mail": MAIL}, {"webhook": HOOK, "people": [{**ANNA, "channels": [RING]}]}):
        settings = Settings.model_validate({"yard": {"id": "quay", "name": "Quay"}, **tables})
        assert make(**tables).channels == settings.sendable


def said(post: Post) -> list[str]:
    return [line for line in post.delays() if line.startswith("Nobody")]


def test_that_nobody_can_be_told_is_said_and_in_the_demo_everybody_knows(make: Callable[..., Post]) -> None:
    assert said(make()) == ["Nobody is told of anything: the settings have no mail server, webhook or phone service."]
    assert said(make(clock="stream")) == []
    (nobody,) = said(make(mail=MAIL))
    assert "nobody who has the duty this week" in nobody
    assert said(make(mail=MAIL, people=[ANNA], rota={"usual": {"first": ["anna"]}})) == []
