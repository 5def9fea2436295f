"""The launch gate over the real app and a real journal: pages, API, command; in a browser, by phone and on paper."""

import json
import re
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import httpx
import pytest
from axe_playwright_python.sync_playwright import Axe
from conftest import Window
from yards import HOUR_MS, NOW_MS, Yard, reading, record

from monitor.cli import main
from monitor.model.access import Grade, Known, Means
from monitor.model.batch import Batch
from monitor.model.gate import GateWord
from monitor.model.inputs import Command
from monitor.model.vessel import Mode
from monitor.web import Deps
from monitor.web import door as doors

Open = Callable[..., Window]
AXE = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
MINUTE_MS = 60_000
PAGE = "/vessels/amber-lark/gate"
BUNG = f"{PAGE}/hull-bung"
API = f"/api{PAGE}"


class GateYard(Yard):
    """The tests' yard, which also commits what is said at the gate."""

    def _take(self, command: Command, answer: "Future[str | None]") -> None:
        if isinstance(command, GateWord) and self.answer is None:
            with self._lock:
                self.commit(Batch(inputs=[(self.next_seq(), command)]))
                answer.set_result(None)
        else:
            super()._take(command, answer)


@pytest.fixture
def yard(tmp_path: Path) -> Iterator[GateYard]:
    made = GateYard(tmp_path / "journal.db")
    made.lay_up(record("amber-lark", "Amber Lark", "B10"))
    yield made
    made.close()


def open_ids(client: httpx.Client) -> list[str]:
    return list(client.get(API).json()["due_before_lift"])


def said(client: httpx.Client, item: str, act: str, name: str = "Anna Tolley", **more: str) -> httpx.Response:
    return client.post(f"{API}/{item}" if item else API, json={"name": name, "act": act, **more})


def make_ready(client: httpx.Client) -> None:
    for item in open_ids(client):
        if item.startswith("hull-"):
            said(client, item, "sight", "Anna Tolley")
            said(client, item, "sight", "Ben Ashdown")
        else:
            said(client, item, "done")


def test_the_page_says_what_holds_her_up_and_never_that_she_is_safe(client: httpx.Client) -> None:
    page = client.get(PAGE).text
    due = open_ids(client)
    assert {"hull-bung", "tag-7", "anodes"} <= set(due)
    assert f"Not ready: {len(due)} things are due before lift." in page
    assert "Opening in the hull: two people sight it, nobody overrides it." in page
    assert "Common practice, no source, where none is named" in page
    assert not re.search(r"\bsafe\b", page, re.IGNORECASE)
    assert PAGE in client.get("/vessels/amber-lark").text


def test_what_the_owner_does_not_want_stands_on_the_list(yard: GateYard, client: httpx.Client) -> None:
    before = record("amber-lark", "Amber Lark", "B10")
    card = before.card.model_copy(update={"refusals": "No <b>pressure washer</b>.", "instructions": "Ring me first."})
    yard.lay_up(before.model_copy(update={"card": card}))
    page = client.get(PAGE).text
    assert "The owner does not want:</b> No &lt;b&gt;pressure washer&lt;/b&gt;." in page
    assert "The owner wrote:</b> Ring me first." in page


def test_two_pages_at_once_count_one_person_once(client: httpx.Client) -> None:
    spellings = ["Anna Tolley", "A. Tolley", "anna  tolley", "Anna"] * 2
    with ThreadPoolExecutor(4) as people:
        answers = list(people.map(lambda name: said(client, "hull-bung", "sight", name).status_code, spellings))
    assert sorted(answers) == [200] + [409] * 7
    assert "hull-bung" in open_ids(client)


def test_a_record_that_is_emptied_closes_nothing(yard: GateYard, client: httpx.Client) -> None:
    due = set(open_ids(client))
    before = record("amber-lark", "Amber Lark", "B10")
    shut = tuple(cock.model_copy(update={"open": False}) for cock in before.seacocks)
    emptied = {
        "open_items": (),
        "seacocks": shut,
        "mode": Mode.ASHORE_BUNG_IN,
        "laid_up": before.laid_up + timedelta(days=30),
    }
    yard.lay_up(before.model_copy(update=emptied))
    assert set(open_ids(client)) == due


def test_nobody_overrides_an_opening_by_page_or_api(yard: GateYard, client: httpx.Client) -> None:
    refused = said(client, "hull-bung", "override", note="I know it is in")
    assert refused.status_code == 409
    assert "cannot be overridden" in refused.json()["detail"]
    page = client.post(BUNG, data={"name": "Anna Tolley", "act": "override", "note": "I know it is in"})
    assert page.status_code == 409
    assert "cannot be overridden" in page.text
    assert said(client, "hull-bung", "done").status_code == 409
    assert said(client, "slings-dry", "override", note="no time").status_code == 409
    assert yard.commands == []
    assert "Override" not in client.get(BUNG).text
    assert "hull-bung" in open_ids(client)


def test_two_people_sight_an_opening_and_the_same_one_twice_counts_once(client: httpx.Client) -> None:
    assert client.post(BUNG, data={"name": "Anna Tolley", "act": "sight"}).status_code == 200
    again = client.post(BUNG, data={"name": "anna  tolley", "act": "sight"})
    assert again.status_code == 409
    assert "another person looks for themselves" in again.text
    assert "hull-bung" in open_ids(client)
    assert "Seen closed by Anna Tolley, 18:02; another person has to sight it." in client.get(PAGE).text
    said(client, "hull-bung", "sight", "Ben Ashdown", note="hand on it")
    assert "hull-bung" not in open_ids(client)
    assert "Seen closed by Anna Tolley, 18:02, Ben Ashdown, 18:02 (hand on it)." in client.get(PAGE).text
    said(client, "hull-bung", "reopen", "Carl")
    assert "hull-bung" in open_ids(client)


def test_an_override_needs_a_reason_and_an_engineer(
    monkeypatch: pytest.MonkeyPatch, yard: GateYard, client: httpx.Client
) -> None:
    missing = said(client, "anodes", "override")
    assert missing.status_code == 422
    assert missing.json()["errors"][0]["key"] == "note"
    monkeypatch.setattr(doors, "HERE", Known("Ben", Grade.YARD, Means.MACHINE))
    assert said(client, "anodes", "override", note="on order").status_code == 403
    assert said(client, "", "in the slings").status_code == 403
    assert "Override it" not in client.get(f"{PAGE}/anodes").text
    assert yard.commands == []
    monkeypatch.setattr(doors, "HERE", Known("Rose", Grade.ENGINEER, Means.MACHINE))
    assert said(client, "anodes", "override", note="on order").status_code == 200
    assert "anodes" not in open_ids(client)
    assert "<b>Overridden.</b> By Anna Tolley, 18:02 (on order)." in client.get(PAGE).text


def test_the_slings_stay_on_until_her_sensors_say_dry(yard: GateYard, client: httpx.Client) -> None:
    early = said(client, "", "in the slings")
    assert early.status_code == 409
    assert early.json()["detail"].startswith("Not ready: ")
    make_ready(client)
    assert "Ready to lift: nothing that was found stands open." in client.get(PAGE).text
    page = client.post(PAGE, data={"name": "Anna Tolley", "act": "in the slings"}).text
    assert "the slings stay on" in page
    for minute in range(12):
        at_ms = NOW_MS + minute * MINUTE_MS
        yard.hear([reading("amber-lark", "level", at_ms, 0.01), reading("amber-lark", "float", at_ms, 0.0)])
    yard.now_ms = NOW_MS + 12 * MINUTE_MS
    slings = client.get(API).json()["slings"]
    assert (slings["how"], slings["dry"]) == ("dry by her bilge sensors", True)
    assert "Dry for 10 minutes by her bilge sensors" in client.get(PAGE).text


def test_a_person_says_since_when_they_looked(yard: GateYard, client: httpx.Client) -> None:
    assert said(client, "", "dry", since="17:40").status_code == 409  # nobody has said that she is in the slings
    make_ready(client)
    said(client, "", "in the slings")
    yard.now_ms = NOW_MS + 15 * MINUTE_MS  # 18:17
    for since, status in (("18:10", 409), ("17:50", 409), ("soon", 422), ("", 422)):
        assert said(client, "", "dry", since=since).status_code == status, since
    assert said(client, "", "dry", since="18:05").json()["slings"]["how"] == "dry by a person"
    assert "Dry, by Anna Tolley who looked from 18:05 to 18:17; not by her sensors" in client.get(PAGE).text


def test_what_is_not_on_the_list_is_not_found(client: httpx.Client) -> None:
    assert said(client, "tag-99", "done").status_code == 404
    assert client.get(f"{PAGE}/tag-99").status_code == 404
    assert client.get("/vessels/nobody/gate").status_code == 404


def test_the_lowest_reading_puts_a_system_on_the_list(yard: GateYard, client: httpx.Client) -> None:
    assert "froze-closed-cooling" not in open_ids(client)
    yard.hear([reading("amber-lark", "engine-space", NOW_MS - 20 * 24 * HOUR_MS, -9.3)])
    assert "no longer counts" not in client.get(f"{PAGE}/froze-closed-cooling").text
    assert "Lowest -9.3 °C by its thermometer; protected to -8.0 °C." in client.get(PAGE).text
    assert "froze-closed-cooling" in open_ids(client)
    assert said(client, "froze-closed-cooling", "done").status_code == 200
    assert "froze-closed-cooling" not in open_ids(client)
    yard.now_ms += 24 * HOUR_MS
    yard.hear([reading("amber-lark", "engine-space", yard.now_ms, -9.0)])  # it froze again
    assert "froze-closed-cooling" in open_ids(client)
    assert "it no longer counts" in client.get(f"{PAGE}/froze-closed-cooling").text


def test_a_code_an_item_stands_only_where_a_phone_reaches_the_pages(
    yard: GateYard, cache_dir: Path, ask: Callable[[Deps], httpx.Client]
) -> None:
    deps = yard.deps(cache_dir)
    near = ask(replace(deps, address=lambda: "http://127.0.0.1:8080")).get(PAGE).text
    far = ask(replace(deps, address=lambda: "https://yard.example")).get(PAGE).text
    assert near.count('class="qr"') == 0
    assert far.count('class="qr"') == far.count('class="gate-box"') > 5


def test_the_command_prints_the_list_and_ends_by_whether_she_is_ready(
    yard: GateYard, client: httpx.Client, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    settings = tmp_path / "settings.toml"
    settings.write_text(
        '[yard]\nid = "eiderhythe"\nname = "Eiderhythe"\n[yard.calendar]\nzone = "Europe/London"\n'
        f'[journal]\npath = "{yard.path}"\nclock = "stream"\n'
    )
    yard.hear([reading("amber-lark", "level", NOW_MS, 0.01)])  # the stream's time is that of what was heard
    words = ["gate", "amber-lark", "--settings", str(settings)]
    assert main(words) == 1
    printed = capsys.readouterr().out
    assert "Not ready: " in printed
    assert "[ ] hull-bung: " in printed
    make_ready(client)
    assert main(words) == 0
    assert "[x] hull-bung: " in capsys.readouterr().out
    assert main([*words, "--json"]) == 0
    as_data = json.loads(capsys.readouterr().out)
    assert [item["id"] for item in as_data["items"]] == [item["id"] for item in client.get(API).json()["items"]]
    assert main(["gate", "nobody", "--settings", str(settings)]) == 2


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("path", [PAGE, BUNG, f"{PAGE}/anodes"])
def test_axe_finds_nothing_at_360_pixels(open_window: Open, path: str, scheme: str) -> None:
    window = open_window(path, width=360, scheme=scheme)
    found = Axe().run(window.page, options=AXE)
    assert found.violations_count == 0, found.generate_report()
    assert window.page.evaluate("document.documentElement.scrollWidth") <= 360
    assert window.complaints == []


def test_an_opening_is_sighted_on_a_phone_without_a_script(open_window: Open, client: httpx.Client) -> None:
    for name in ("Anna Tolley", "Ben Ashdown"):
        page = open_window(BUNG, width=360, javascript=False).page
        page.locator("#sight-name").fill(name)
        page.get_by_role("button", name="I saw it closed").click()
        page.wait_for_url(f"**{PAGE}#hull-bung")
    assert "hull-bung" not in open_ids(client)


def test_the_list_prints_with_boxes_and_without_forms(open_window: Open, client: httpx.Client) -> None:
    make_ready(client)
    page = open_window(PAGE).page
    page.locator("#slings-name").fill("Anna Tolley")
    page.get_by_role("button", name="She is in the slings").click()
    page.get_by_text("She is in the slings anew").first.wait_for(state="attached")
    page.emulate_media(media="print")
    assert page.locator(".gate-box").first.is_visible()
    assert page.locator(".blanks.on-paper").first.is_visible()
    assert page.locator(".act-form:visible").count() == 0
