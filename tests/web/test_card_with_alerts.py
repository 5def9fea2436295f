"""Her card stands with every alert for whoever is sent to her, and what her owner does not want stands first."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import httpx
import pytest
from told import call_of, line_of, notice_of
from yards import Yard, frost, record

from monitor.model.scale import Priority
from monitor.model.vessel import Card

CARD = Card(keys="Office, hook 14", refusals="No heater aboard", policy="Ashore until 1 April")


@pytest.fixture
def yard(tmp_path: Path) -> Iterator[Yard]:
    made = Yard(tmp_path / "journal.db")
    made.lay_up(record("amber-lark", "Amber Lark", "B10", card=CARD))
    made.open_alert("amber-lark", frost(Priority.ALARM, -9.1))
    yield made
    made.close()


def test_the_card_stands_on_her_page_the_alerts_the_calls_and_behind_the_link(yard: Yard, client: httpx.Client) -> None:
    (alert,) = yard.alerts.values()
    call = call_of([alert], "amber-lark")
    yard.told.made.append(call)
    notice = notice_of(call)
    yard.told.lines.append(line_of(notice, sent_ms=yard.now_ms))
    pages = ("/vessels/amber-lark", f"/alerts/{alert.id}", f"/calls/{call.id}", f"/a/{yard.links.sign(notice.id)}")
    for page in (*pages, "/vessels/amber-lark/visit", "/round"):
        text = client.get(page).text
        assert "The owner does not want" in text, page
        places = [
            text.index(part) for part in ('class="refused"', "No heater aboard", "hook 14", "Ashore until 1 April")
        ]
        assert places == sorted(places), page


def test_an_owners_link_shows_no_card(yard: Yard, client: httpx.Client) -> None:
    (alert,) = yard.alerts.values()
    call = call_of([alert], "amber-lark")
    notice = replace(notice_of(call), owner=True)
    yard.told.lines.append(line_of(notice, sent_ms=yard.now_ms))
    assert "hook 14" not in client.get(f"/a/{yard.links.sign(notice.id)}").text
