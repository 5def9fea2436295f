"""The round's page and API, and the counts of visits, over the real app."""

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import httpx
import pytest
from axe_playwright_python.sync_playwright import Axe
from conftest import Window
from visiting import VisitedYard, walked_yard
from yards import HOUR_MS

from monitor.messages.phrases import raw_words
from monitor.model.alert import AlertChange
from monitor.model.inputs import VisitReport
from monitor.model.quantity import Quantity
from monitor.model.vessel import Card
from monitor.model.visit import Found, HandReading, Read, VisitNote
from monitor.record.checks import Check
from monitor.record.compare import Agreement
from monitor.record.contradict import Odd
from monitor.record.round import CAUTIONS, Why
from monitor.web import Deps, sight
from monitor.web.round_shown import check_words

Open = Callable[..., Window]
AXE = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
DAY_MS = 24 * HOUR_MS


@pytest.fixture
def yard(tmp_path: Path) -> Iterator[VisitedYard]:
    made = walked_yard(tmp_path / "journal.db")
    yield made
    made.close()


def visit(yard: VisitedYard, vessel: str, found: Found, ago_ms: int = HOUR_MS, **changes: object) -> VisitReport:
    made = VisitReport(vessel, yard.now_ms - ago_ms, "Anna Tolley", VisitNote(found, **changes))  # type: ignore[arg-type] # what a test says
    yard.told.found.append(made)
    return made


def stops(page: str) -> list[str]:
    return re.findall(r'id="stop-([\w-]+)"', page)


def test_the_round_walks_ashore_first_in_the_order_of_places(client: httpx.Client) -> None:
    page = client.get("/round").text
    # Plots B2, B9, B10, then berth A1; Fern Island is quiet and was visited eight days ago.
    assert stops(page) == ["barley-moon", "dove-hollow", "amber-lark", "copper-wren"]
    assert "4 boats, in walking order" in page
    assert "<b>Overdue</b> A visit was due on 8 Dec 2013. The last was on 1 Dec 2013" in page  # seven days afloat
    assert page.lower().count("overdue") == 1
    assert "<b>Today</b> A visit is due. The last was on 8 Nov 2013" in page  # 31 days ashore
    assert not re.search(r"\bsafe\b|unacknowledged|latched", page, re.IGNORECASE)


def test_a_boat_of_the_round_has_her_card_her_checks_and_her_cautions(client: httpx.Client) -> None:
    page = client.get("/round").text
    amber = page.split('id="stop-amber-lark"')[1].split("</article>")[0]
    for text in ("Office, hook 14", "Ring before anything is drained", "Heads inlet seacock: shut, as recorded"):
        assert text in amber
    for text in (
        "Main bilge, dip",
        "House battery, volts",
        "Saloon, humidity",
        "Dehumidifier runs",
        "post: Post 7, left",
    ):
        assert text in amber
    assert "Go and look" in amber
    assert "Never alone on a boat afloat" in page
    assert "switch off at the shore post before you touch water" in page
    assert "No card: keys" in page  # of the boats that have none


def test_a_yard_in_order_has_no_round(yard: VisitedYard, client: httpx.Client) -> None:
    for vessel in ("copper-wren", "dove-hollow"):
        visit(yard, vessel, Found.WELL)
    assert stops(client.get("/round").text) == ["barley-moon", "amber-lark"]
    for alert in yard.alerts.values():
        alert.confirmed_ms = yard.now_ms
        yard.happens(alert, AlertChange.CONFIRMED, yard.now_ms)
        # That somebody was aboard ends nothing that still stands; it ends what had cleared and waited for that.
    page = client.get("/round").text
    assert stops(page) == ["barley-moon", "amber-lark"]
    assert "Go and look" not in page
    for alert in yard.alerts.values():
        yard.clear(alert)
    assert "No boat asks for a visit today" in client.get("/round").text


def test_a_boat_whose_alarm_still_stands_stays_on_the_round_after_a_visit(
    yard: VisitedYard, client: httpx.Client
) -> None:
    frosty = next(a.id for a in yard.alerts.values() if a.rule == "frost")
    sent = {"name": "Anna Tolley", "found": "as told", "note": "Heater is on", f"alerts.{frosty}": "as-told"}
    page = client.post("/vessels/amber-lark/visit", data=sent).text
    assert "as told</b>. It still stands, and stays on the round until it clears." in page
    page = client.get("/round").text
    assert "Act now</b> Engine closed cooling is close to its freezing point. Anna Tolley was aboard 18:02" in page
    assert "and it still stands" in page
    amber = client.get("/api/round").json()["stops"][2]
    first = amber["reasons"][0]
    assert (first["why"], first["alert"]) == ("alarm", frosty)
    assert first["text"].endswith("Anna Tolley was aboard 18:02, and it still stands")
    form = client.get("/vessels/amber-lark/visit").text
    assert "Anna Tolley was aboard 18:02, and it still stands." in form
    yard.clear(yard.alerts[frosty])
    assert "still stands" not in client.get("/round").text


def test_a_boat_that_nobody_has_been_to_is_not_said_to_have_been_visited(
    yard: VisitedYard, client: httpx.Client
) -> None:
    hollow = yard.view.record("dove-hollow")
    assert hollow is not None
    yard.lay_up(hollow.vessel.model_copy(update={"visits": ()}), at_ms=yard.now_ms)
    page = client.get("/round").text.split('id="stop-dove-hollow"')[1].split("</article>")[0]
    assert "None is written down since she was laid up on 31 Oct 2013" in page


def test_of_open_alerts_the_outcome_says_which_nobody_has_said_anything_of(
    yard: VisitedYard, client: httpx.Client
) -> None:
    frosty = next(a.id for a in yard.alerts.values() if a.rule == "frost")
    sent = {"name": "Anna Tolley", "found": "as told", "note": "Heater is on", f"alerts.{frosty}": "as-told"}
    page = client.post("/vessels/amber-lark/visit", data=sent).text
    waiting = page.split("Still open, and nobody has said what they found")[1]
    assert "The bilge watch found something" in waiting
    assert "freezing point" not in waiting
    yard.now_ms += HOUR_MS
    wet = next(a.id for a in yard.alerts.values() if a.rule == "bilge")
    page = client.post("/vessels/amber-lark/visit", data=sent | {f"alerts.{wet}": "nothing"}).text
    assert "Still open" not in page


def test_the_round_as_data_is_the_same_round(client: httpx.Client) -> None:
    answer = client.get("/api/round").json()
    assert [s["vessel"] for s in answer["stops"]] == ["barley-moon", "dove-hollow", "amber-lark", "copper-wren"]
    amber = answer["stops"][2]
    assert [r["why"] for r in amber["reasons"]] == ["alarm", "unconfirmed"]
    assert "seacock_shut.heads" in [c["code"] for c in amber["checks"]]
    assert {"what": "volts", "subject": "house", "name": "House battery", "sensor": "volts"} in amber["takings"]
    assert amber["card"]["keys"] == "Office, hook 14"
    assert answer["stops"][1]["reasons"][0]["due"] == "2013-12-09"
    assert answer["left_out"] == 0


def test_visits_are_counted_and_each_number_has_its_list(yard: VisitedYard, client: httpx.Client) -> None:
    off = HandReading(Read.DIP, "main", 0.0, "level", 0.04, yard.now_ms - HOUR_MS)
    visit(yard, "fern-island", Found.WELL, readings=(off,))
    visit(yard, "barley-moon", Found.FALSE_CALL, 2 * HOUR_MS)
    visit(yard, "dove-hollow", Found.NOT_TOLD, 3 * HOUR_MS, note="Hose off at the heads")
    visit(yard, "dove-hollow", Found.NOT_TOLD, 20 * DAY_MS)
    page = client.get("/visits", params={"days": 7}).text
    numbers = re.findall(r"<dd>([\d of]+)</dd>", page)
    assert numbers == ["3", "1", "1", "1 of 1"]
    differed = page.split('id="differed"')[1].split("</section>")[0]
    assert "Fern Island" in differed
    assert "Main bilge, dip: they differ. By hand 0 mm, by the sensor 40 mm at 17:02. That is 40 mm apart" in differed
    assert "more than the 12 mm that both can err. Trust the dip, check the sensor" in differed
    assert "Hose off at the heads" in page.split('id="missed"')[1].split("</section>")[0]
    answer = client.get("/api/visits", params={"days": 30}).json()
    assert (answer["false_calls"], answer["missed"], answer["differed"], answer["compared"]) == (1, 2, 1, 1)
    assert len(answer["visits"]) == 4
    assert client.get("/api/visits", params={"days": 0}).status_code == 422


def test_a_boat_that_may_not_be_seen_is_on_no_round_and_in_no_calendar(
    yard: VisitedYard, client: httpx.Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = visit(yard, "amber-lark", Found.NOT_TOLD)
    monkeypatch.setattr(sight, "may_see", lambda _viewer, vessel: vessel not in {"amber-lark", None})
    for path in ("/round", "/visits", "/calendar.ics", "/api/round", "/api/visits"):
        answer = client.get(path)
        assert answer.status_code == 200
        assert "amber-lark" not in answer.text.lower().replace(" ", "-"), path
    for path in ("/vessels/amber-lark/visit", f"/vessels/amber-lark/visits/{made.at_ms}"):
        assert client.get(path).status_code == 404
    sent = {"name": "Anna", "found": "well"}
    assert client.post("/vessels/amber-lark/visit", data=sent).status_code == 404
    assert client.post("/api/vessels/amber-lark/visits", json=sent).status_code == 404
    assert yard.commands == []


def test_every_code_has_its_words() -> None:
    words = raw_words("round", "en")
    assert {w.code for w in Why} == set(words["why"]) == set(words["word"])
    assert {a.value for a in Agreement} == set(words["compared"]) == set(words["compared_word"])
    assert {q.value for q in Quantity} == set(words["sensors"])
    assert {r.value for r in Read} == set(words["takings"]) == set(words["trust"])
    assert set(CAUTIONS) == set(words["cautions"])
    assert set(Card.model_fields) == set(words["card"])
    assert {o.value for o in Odd} | {"found"} == set(words["odd"])
    assert {f.value for f in Found} == set(words["found"]) == set(words["found_past"])


@pytest.mark.browser
@pytest.mark.parametrize("path", ["/round", "/visits", "/vessels/amber-lark/visit"])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_on_the_round(yard: VisitedYard, open_window: Open, path: str, scheme: str) -> None:
    visit(yard, "barley-moon", Found.FALSE_CALL, 2 * HOUR_MS)
    window = open_window(path, width=360, scheme=scheme)
    found = Axe().run(window.page, options=AXE)
    assert found.violations_count == 0, found.generate_report()
    assert window.page.evaluate("document.documentElement.scrollWidth") <= 360
    assert window.complaints == []


def test_every_check_reads_as_a_sentence_without_a_hole() -> None:
    kinds = set(raw_words("round", "en")["checks"])
    facts: dict[str, str | bool] = {
        "name": "Main bilge",
        "reason": "Rain runs out",
        "place": "under the sink",
        "quantity": "level",
    }
    flags = {"charger": True, "unproven": True, "left_on": True, "drained": True}
    for kind in kinds:
        for given in (facts | flags, {"name": "Main bilge", **dict.fromkeys(flags, False)}):
            words = check_words(Check(kind, "x", facts=given))
            assert words[0].isupper()
            assert not re.search(r"\(\s*\)|\s[,;:.]|\{|  ", words), words


@pytest.mark.browser
def test_on_a_phone_the_lists_stand_in_the_form_alone(open_window: Open) -> None:
    page = open_window("/round", width=360).page
    assert not page.locator(".boxes").first.is_visible()
    assert page.locator(".on-phone").first.is_visible()
    page.emulate_media(media="print")
    assert page.locator(".boxes").first.is_visible()


@pytest.mark.browser
def test_the_round_prints_with_boxes_and_without_buttons(open_window: Open, deps: Deps) -> None:
    page = open_window("/round").page
    page.emulate_media(media="print")
    assert page.locator("p.on-paper").first.is_visible()
    assert not page.locator(".stop .go").first.is_visible()
    box = page.evaluate("getComputedStyle(document.querySelector('.boxes li'), '::before').borderTopWidth")
    assert float(box.removesuffix("px")) >= 1
    assert deps.yard_name in page.locator("header").inner_text()
