"""Calls: what people were told as one, the link in a message, what did not arrive, and how much of it there was."""

import html
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import httpx
import pytest
from told import call_of, line_of, notice_of
from watched import WatchedYard, flooded_yard
from yards import HOUR_MS, ZONE, Yard, record

from monitor.messages.links import LINK_AGE_S, LinkSigner
from monitor.model.alert import AlertChange
from monitor.model.call import CallKind
from monitor.model.scale import AlertState, Priority
from monitor.model.views import AlertLoad
from monitor.web import Deps, alert_load

Ask = Callable[[Deps], httpx.Client]
BOATS = ["amber-lark", "barley-moon", "copper-wren", "dove-hollow"]


def text_of(page: str) -> str:
    """Give a page's text, without markup."""
    return html.unescape(" ".join(re.sub(r"<[^>]*>", " ", page).split()))


@pytest.fixture
def storm(tmp_path: Path) -> Iterator[WatchedYard]:
    """Four boats with water at their floats at once."""
    made = flooded_yard(tmp_path / "storm.db", boats=4)
    yield made
    made.close()


@pytest.fixture
def asking(storm: WatchedYard, cache_dir: Path, ask: Ask) -> httpx.Client:
    return ask(storm.deps(cache_dir))


def fleet_call(storm: WatchedYard) -> str:
    (found,) = [c.id for c in storm.view.calls(open_only=True) if c.kind is CallKind.FLEET]
    return found


class TestCalls:
    def test_a_trouble_of_many_boats_stands_on_top_of_the_yard(self, storm: WatchedYard, asking: httpx.Client) -> None:
        page = asking.get("/").text
        assert "Water: 4 boats, first at plot B1 Nobody has had it since 18:01" in text_of(page)
        assert page.index(f'href="/calls/{fleet_call(storm)}"') < page.index('id="counts"')

    def test_it_is_walked_in_order_and_says_who_was_told_by_what(
        self, storm: WatchedYard, asking: httpx.Client
    ) -> None:
        page = asking.get(f"/calls/{fleet_call(storm)}").text
        stops = page[page.index("Where to go") : page.index("Who was told")]
        assert re.findall(r"/vessels/([\w-]+)#alerts", stops) == BOATS
        text = text_of(page)
        assert re.search(r"Told [\w ]+: Anna Tolley , by e-mail. Waits to be sent \.", text)
        assert "Anna Tolley has the duty this week" in text
        assert not re.search(r"\byou\b", text[text.index("Who was told") :], re.IGNORECASE)
        assert "0 of 4 seen." in text
        assert "anna@yard.example" not in page

    def test_a_boats_page_says_who_has_what_is_hers_of_it(self, storm: WatchedYard, asking: httpx.Client) -> None:
        water = storm.alert_of("copper-wren", "bilge")
        asking.post(f"/alerts/{water.id}/acknowledge", data={"name": "Anna Tolley"})
        assert "Anna Tolley has it. Water: 4 boats" in text_of(asking.get("/vessels/copper-wren").text)
        assert "Nobody has had it since 18:01. Water: 4 boats" in text_of(asking.get("/vessels/dove-hollow").text)
        assert "Anna Tolley has some of it; nobody has the rest" in text_of(asking.get("/").text)

    def test_one_button_acknowledges_each_of_its_alerts_by_one_name(
        self, storm: WatchedYard, asking: httpx.Client
    ) -> None:
        call = fleet_call(storm)
        page = asking.get(f"/calls/{call}").text
        assert "I have seen all 4" in page
        act = {"name": "Anna Tolley", "note": "walking along"}
        text = text_of(asking.post(f"/calls/{call}/acknowledge", data=act).text)
        assert "Anna Tolley has had it since 18:02" in text
        assert "4 of 4 seen." in text
        assert "I have seen" not in text
        water = [a for a in storm.view.alerts(open_only=True) if a.rule == "bilge"]
        assert [a.acknowledged_by for a in water] == ["Anna Tolley"] * 4
        assert {storm.view.events(a.id)[-1].note for a in water} == {"walking along"}
        again = asking.post(f"/calls/{call}/acknowledge", data=act)
        assert (again.status_code, "Somebody has seen all of it already" in again.text) == (409, True)

    def test_it_is_data_too(self, storm: WatchedYard, asking: httpx.Client) -> None:
        listed = asking.get("/api/calls").json()
        call = asking.get(f"/api/calls/{fleet_call(storm)}").json()
        assert call["id"] in [c["id"] for c in listed]
        assert (call["kind"], call["about"], call["priority"]) == ("fleet", "water", "alarm")
        assert call["vessels"] == BOATS
        assert {(n["person"], n["state"]) for n in call["notices"]} == {("Anna Tolley", "waits")}
        assert "@" not in str(call)

    def test_what_is_over_can_still_be_read(self, storm: WatchedYard, asking: httpx.Client) -> None:
        swallowed = [c for c in storm.view.calls(open_only=False) if c.ended_ms is not None]
        assert swallowed
        page = text_of(asking.get("/calls").text)
        assert page.index("Not over") < page.index("Water: 4 boats") < page.index("Over Amber Lark plot B1")
        assert "Over since 18:0" in page
        for call in swallowed:
            assert "over since" in text_of(asking.get(f"/calls/{call.id}").text).lower()

    def test_a_row_names_boat_place_trouble_how_soon_and_who_has_it(
        self, tmp_path: Path, cache_dir: Path, ask: Ask
    ) -> None:
        yard = flooded_yard(tmp_path / "one.db")
        client = ask(yard.deps(cache_dir))
        row = text_of(client.get("/calls").text)
        says = "1 Act now Amber Lark plot B1 Main bilge: the float switch is up"
        assert says in row
        assert "Nobody has had it since 18:01 began 18:01" in row
        (call,) = yard.view.calls(open_only=True)
        text = text_of(client.post(f"/calls/{call.id}/acknowledge", data={"name": "Anna Tolley"}).text)
        assert "Anna Tolley has had it since 18:02" in text
        assert "Anna Tolley has had it since 18:02" in text_of(client.get("/calls").text)
        yard.close()

    @pytest.mark.parametrize("way", ["bring-back", "ashore"])
    def test_what_comes_back_is_nobodys_on_the_boats_page_and_on_the_calls(
        self, tmp_path: Path, cache_dir: Path, ask: Ask, way: str
    ) -> None:
        yard = flooded_yard(tmp_path / "back.db")
        yard.sensed("amber-lark", "float", 0.0)
        yard.watch(record("barley-moon", "Barley Moon", "B2"))
        yard.sensed("barley-moon", "engine-space", -20.0)
        yard.passes(1.5)
        client = ask(yard.deps(cache_dir))
        frost = yard.alert_of("barley-moon", "frost")
        who = {"name": "Anna Tolley"}
        client.post(f"/alerts/{frost.id}/acknowledge", data=who)
        (call,) = [c for c in yard.view.calls(open_only=True) if c.about == "barley-moon"]
        assert "Anna Tolley has had it since" in text_of(client.get(f"/calls/{call.id}").text)
        assert "Anna Tolley has it." in text_of(client.get("/vessels/barley-moon").text)
        until = f"{datetime.fromtimestamp(yard.now_ms / 1000 + 1_800, ZONE):%Y-%m-%dT%H:%M}"
        if way == "ashore":
            client.post("/vessels/barley-moon/aboard", data=who | {"reason": "people aboard", "until": until})
            client.post("/vessels/barley-moon/ashore", data=who)
        else:
            client.post(f"/alerts/{frost.id}/shelve", data=who | {"reason": "drained by hand", "until": until})
            client.post(f"/alerts/{frost.id}/bring-back", data=who)
        assert yard.alert_of("barley-moon", "frost").state is AlertState.UNACKNOWLEDGED
        assert "nobody has had it since" in text_of(client.get(f"/calls/{call.id}").text).lower()
        boat = text_of(client.get("/vessels/barley-moon").text)
        assert "Nobody has had it since" in boat
        assert "Anna Tolley has it" not in boat
        yard.close()

    def test_what_was_wrong_still_stands_on_the_page_of_what_is_over(self, yard: Yard, client: httpx.Client) -> None:
        ended = next(a for a in yard.alerts.values() if a.ended_ms is not None)
        over = replace(call_of([ended], ended.vessel), ended_ms=ended.ended_ms, alerts=(), vessels=(), priority=None)
        yard.told.made.append(over)
        yard.told.lines.append(line_of(notice_of(call_of([ended], ended.vessel)), sent_ms=yard.now_ms))
        listed = text_of(client.get("/calls").text)
        assert "Over Fern Island plot B5 Engine closed cooling is close to its freezing point" in listed
        text = text_of(client.get(f"/calls/{over.id}").text)
        assert "What it was Plot B5 Fern Island" in text
        assert "Where to go" not in text

    def test_her_page_leads_to_what_people_were_told(self, storm: WatchedYard, asking: httpx.Client) -> None:
        assert f'href="/calls/{fleet_call(storm)}"' in asking.get("/vessels/copper-wren").text

    @pytest.mark.parametrize("path", ["/calls/0123456789abcdef", "/api/calls/0123456789abcdef"])
    def test_a_call_that_is_not_there_is_said(self, asking: httpx.Client, path: str) -> None:
        assert asking.get(path).status_code == 404


class TestLink:
    def test_looking_changes_nothing_and_asking_once_does_it(self, storm: WatchedYard, asking: httpx.Client) -> None:
        notice = storm.first_notice("Anna Tolley")
        path = f"/a/{storm.links.sign(notice.id)}"
        for method in ("GET", "HEAD", "GET"):
            assert asking.request(method, path).status_code == 200
        assert storm.commands == []
        page = asking.get(path)
        assert "Do you have it?" in text_of(page.text)
        assert 'value="Anna Tolley"' in page.text
        assert page.headers["cache-control"] == "no-store"
        done = asking.post(path, data={"name": "Anna Tolley"})
        assert "You have it" in text_of(done.text)
        assert "Seen by Anna Tolley 18:02." in text_of(done.text)
        assert [c.link for c in storm.commands] == [notice.id] * len(notice.alerts)
        assert storm.view.link_used(notice.id)

    def test_a_used_link_does_nothing_more_and_says_who_has_it(self, storm: WatchedYard, asking: httpx.Client) -> None:
        path = f"/a/{storm.links.sign(storm.first_notice('Anna Tolley').id)}"
        asking.post(path, data={"name": "Anna Tolley"})
        before = len(storm.commands)
        again = asking.post(path, data={"name": "Somebody Else"})
        assert again.status_code == 200
        assert "Seen by Anna Tolley" in text_of(again.text)
        assert "<form" not in again.text
        assert len(storm.commands) == before

    def test_it_acknowledges_only_what_nobody_has_seen(self, storm: WatchedYard, asking: httpx.Client) -> None:
        call = storm.view.call(fleet_call(storm))
        assert call is not None
        notice = next(n.notice for n in storm.view.notices(call.id) if len(n.notice.alerts) > 1)
        asking.post(f"/api/alerts/{notice.alerts[0]}/acknowledge", json={"name": "Joss Reed"})
        done = asking.post(f"/a/{storm.links.sign(notice.id)}", data={"name": "Anna Tolley"})
        assert "Seen by Joss Reed" in text_of(done.text)
        assert [c.alert for c in storm.commands[1:]] == list(notice.alerts[1:])

    def test_a_forged_or_old_link_shows_nothing_of_a_boat(self, storm: WatchedYard, asking: httpx.Client) -> None:
        notice = storm.first_notice("Anna Tolley").id
        long_ago = LinkSigner(b"a secret of the yard in the tests", now_s=lambda: 1_386_612_120 - LINK_AGE_S)
        forged = LinkSigner(b"another secret, of somebody else").sign(notice)
        for token, says in ((forged, "not one of ours"), (long_ago.sign(notice), "days old"), ("x", "not one of ours")):
            for answer in (asking.get(f"/a/{token}"), asking.post(f"/a/{token}", data={"name": "Eve"})):
                assert answer.status_code == 404
                assert says in text_of(answer.text)
                assert "Amber Lark" not in answer.text
        assert storm.commands == []

    def test_a_link_of_a_message_that_is_not_kept_says_so(self, storm: WatchedYard, asking: httpx.Client) -> None:
        answer = asking.get(f"/a/{storm.links.sign('0' * 24)}")
        assert (answer.status_code, "not kept any more" in answer.text) == (404, True)

    def test_another_sites_page_cannot_press_the_button(self, storm: WatchedYard, asking: httpx.Client) -> None:
        path = f"/a/{storm.links.sign(storm.first_notice('Anna Tolley').id)}"
        headers = {"Sec-Fetch-Site": "cross-site"}
        assert asking.post(path, data={"name": "Anna Tolley"}, headers=headers).status_code == 403
        assert storm.commands == []


HOOK = "https://hooks.example/T0/secret?key=1"


@pytest.fixture
def undelivered(yard: Yard) -> Yard:
    """The small yard, with a message that was given up and one that fails."""
    alarm = next(iter(yard.alerts.values()))
    call = call_of([alarm], "amber-lark")
    yard.told.made.append(call)
    hook = replace(notice_of(call, vessel="amber-lark"), channel="webhook", address=HOOK)
    given_up = replace(line_of(hook, tries=9, error=f"410 Gone from {HOOK}"), given_up_ms=yard.now_ms - HOUR_MS)
    mail = notice_of(call, person="Joss Reed", number=1)
    yard.told.lines += [given_up, line_of(mail, tries=2, error="the mail server does not answer")]
    yard.told.lines.append(line_of(notice_of(call, person="Maud Farrier", number=2), sent_ms=yard.now_ms))
    return yard


class TestUndelivered:
    @pytest.mark.usefixtures("undelivered")
    def test_the_yard_says_whom_messages_have_not_reached(self, client: httpx.Client) -> None:
        text = text_of(client.get("/").text)
        assert "1 message has not reached Joss Reed since 14:02: the mail server does not answer." in text
        assert "Maud Farrier" not in text

    @pytest.mark.usefixtures("undelivered")
    def test_the_list_says_why_and_keeps_secrets(self, client: httpx.Client) -> None:
        page = client.get("/undelivered").text
        assert "Anna Tolley by webhook: given up 17:02 after 9 tries: 410 Gone from" in text_of(page)
        assert "not sent yet after 2 tries: the mail server does not answer" in text_of(page)
        assert "Not told of it: has the duty. Amber Lark, plot B0" in text_of(page)
        found = client.get("/api/undelivered").json()
        assert [n["state"] for n in found] == ["given up", "failing"]
        for told in (page, str(found), client.get("/").text, client.get("/calls/" + "c" * 16).text):
            assert "secret" not in told

    def test_nothing_undelivered_is_said_too(self, client: httpx.Client) -> None:
        assert "Every message has been taken" in text_of(client.get("/undelivered").text)


class TestLoad:
    def test_it_is_counted_by_how_soon_and_a_day(self, client: httpx.Client) -> None:
        text = text_of(client.get("/load").text)
        assert "How soon, at its worst" in text
        for row in ("Act now 1 0.1", "Soon 3 0.4", "This week 3 0.4"):
            assert row in text
        assert client.get("/api/load").json()["opened"] == {"alarm": 2, "warning": 14, "caution": 0}

    def test_what_is_rare_is_no_nought_a_day(self, yard: Yard, client: httpx.Client) -> None:
        yard.told.measured = AlertLoad(30.0, {}, (), ())
        assert "Act now 1 0.03" in text_of(client.get("/load", params={"days": 30}).text)

    def test_an_alert_that_rose_is_counted_at_the_highest_it_has_reached(
        self, yard: Yard, client: httpx.Client
    ) -> None:
        rose = next(a for a in yard.alerts.values() if a.vessel == "dove-hollow")
        rose.highest, rose.priority = Priority.ALARM, Priority.CAUTION  # it rose, and has come down again
        yard.happens(rose, AlertChange.PRIORITY, yard.now_ms)
        assert "Act now 2 0.3" in text_of(client.get("/load").text)
        assert client.get("/api/load").json()["highest"] == {"alarm": 2, "warning": 3, "caution": 2}

    def test_every_alert_of_a_long_span_is_counted_once(
        self, yard: Yard, client: httpx.Client, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(alert_load, "FIRST_ASKED", 2)
        assert sum(client.get("/api/load").json()["highest"].values()) == len(yard.alerts) == 7
        assert sum(client.get("/api/load", params={"days": 1}).json()["highest"].values()) == 6

    def test_what_wears_people_out_is_named(self, yard: Yard, client: httpx.Client) -> None:
        first, second = list(yard.alerts.values())[:2]
        yard.told.measured = AlertLoad(7.0, {Priority.ALARM: 1}, (first,), ((second, 5),))
        page = text_of(client.get("/load").text)
        assert "came back 5 times within a day" in page
        assert "open since 14:02" in page
        data = client.get("/api/load").json()
        assert [w["times"] for w in data["standing"] + data["chattering"]] == [None, 5]

    def test_over_a_real_journal(self, asking: httpx.Client) -> None:
        assert asking.get("/api/load", params={"days": 1}).json()["opened"]["alarm"] == 4

    @pytest.mark.parametrize("days", ["0", "401", "x"])
    def test_a_span_that_is_none_is_refused(self, client: httpx.Client, days: str) -> None:
        assert client.get("/load", params={"days": days}).status_code == 422
