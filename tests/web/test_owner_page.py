"""The owner's own page: for every way a boat can stand, one sentence first, who has it, and what comes next."""

import re
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

import httpx
import pytest
from test_acts import text_of
from watched import DUTY, PEOPLE, WatchedYard
from yards import HOUR_MS, NOW_MS, ZONE, record

from monitor.messages.figures import MINUS
from monitor.model.access import Account, Grade
from monitor.model.equipment import Visit
from monitor.model.inputs import (
    Aboard,
    Acknowledge,
    Command,
    Confirm,
    HandOver,
    RecordVersion,
    Shelve,
    Suppress,
    VisitReport,
)
from monitor.model.notice import Delivery
from monitor.model.people import Ladder, Rota
from monitor.model.roster import Roster
from monitor.model.surroundings import YardCalendar
from monitor.model.vessel import Card, Mode, Person, Vessel
from monitor.model.visit import Found, VisitNote
from monitor.model.work import Job, JobEnd
from monitor.store.access import DAY_MS, AccessFile
from monitor.telling import Telling
from monitor.web import Deps
from monitor.web.door import wall_ms

Ask = Callable[[Deps], httpx.Client]
OWNER = Person(name="Olga Invented", email="olga@example.org")
VISITS = (Visit(on=date(2013, 12, 5), by="Hanno Brightwell"),)
LOGIN = "olga@example.org"
FORBIDDEN = re.compile(
    r"\bsafe\w*|\bact now\b|\balarm\b|unacknowledged|acknowledged|latched|shelved|suppressed|"
    r"returned|[0-9a-f]{16}|cabin-rh|engine-space|outside-air|closed-cooling|gateway|threshold",
    re.IGNORECASE,
)


def boat(**changes: Any) -> Vessel:
    """Give Olga's boat, whom somebody visited on 5 December."""
    return record("amber-lark", "Amber Lark", **{"owner": OWNER, "visits": VISITS, **changes})


@dataclass
class Hers:
    """Olga's boat at a watched yard, and how she looks at her."""

    yard: WatchedYard
    client: httpx.Client

    @property
    def page(self) -> str:
        answer = self.client.get("/vessels/amber-lark")
        assert answer.status_code == 200, answer.text
        text = text_of(answer.text.partition("<main")[2].partition("<footer")[0])
        assert FORBIDDEN.search(text) is None, FORBIDDEN.search(text)
        return text

    @property
    def says(self) -> str:
        page = self.page.partition("Whom to ring")[0]
        return page.partition(">")[2]

    def changed(self, **changes: Any) -> None:
        self.yard.fleet.command(RecordVersion(boat(**changes), self.yard.now_ms, "Hanno Brightwell"))
        self.yard.flush()

    def does(self, *commands: Command) -> None:
        for command in commands:
            self.yard.fleet.command(command)
        self.yard.flush()

    def heard(self, *, but: tuple[str, ...] = (), ago_ms: int = 120_000) -> None:
        values = {"outside-air": 1.0, "engine-space": 3.0, "cabin": 3.0, "cabin-rh": 60.0, "volts": 12.7}
        for sensor, value in (values | {"level": 0.01, "float": 0.0}).items():
            if sensor not in but:
                self.yard.sensed("amber-lark", sensor, value, ago_ms)
        self.yard.passes(0.01)

    def flooded(self) -> str:
        self.heard()
        self.yard.sensed("amber-lark", "float", 1.0)
        self.yard.passes(0.01)
        return self.yard.alert_of("amber-lark", "bilge").id


@pytest.fixture
def hers(tmp_path: Path, cache_dir: Path, ask: Ask) -> Iterator[Hers]:
    yard = WatchedYard(tmp_path / "hers.db")
    yard.roster = Roster.of(PEOPLE, Rota(), DUTY, ZONE.key)
    yard.telling = Telling(yard.roster, Ladder(), YardCalendar(zone=ZONE.key))
    yard.watch(boat())
    with closing(AccessFile(tmp_path / "access.sqlite", bytes(32))) as access:
        access.put(Account(LOGIN, OWNER.name, Grade.OWNER, OWNER.email), wall_ms())
        token = access.make_token(LOGIN, "test", wall_ms(), DAY_MS)
        client = ask(yard.deps(cache_dir, access=access, roster=yard.roster, next_told=yard.telling.next_told_ms))
        asked = {"Authorization": f"Bearer {token}", "Accept": "text/html", "Origin": str(client.base_url).rstrip("/")}
        client.headers.update(asked)
        yield Hers(yard, client)
    yard.close()


def test_where_nothing_is_wrong_it_says_when_she_was_heard_and_visited(hers: Hers) -> None:
    hers.heard()
    assert "Nothing needs doing. Heard 18:00, visited 5 Dec." in hers.says
    hers.does(VisitReport("amber-lark", NOW_MS - 30 * HOUR_MS, "Anna Tolley", VisitNote(Found.WELL, note="All dry.")))
    assert "Nothing needs doing. Heard 18:00, visited 8 Dec." in hers.says
    assert "Sun 8 Dec Anna Tolley was aboard: all well. “All dry.”" in hers.page


def test_what_nobody_has_says_when_the_yard_was_told_and_is_told_again(hers: Hers) -> None:
    hers.flooded()
    says = hers.says
    assert "There is water in the main bilge." in says
    assert "The yard was told at 18:02; nobody has answered yet; it is told again at 18:17." in says
    assert "Please do not board." in says
    assert "Eiderhythe Yard writes to you when somebody has it, and when it is over." in says
    assert "Anna Tolley has the duty at the yard now." in hers.page
    hers.yard.passes(0.3)
    assert "it is told again at 18:32" in hers.says


def test_what_somebody_has_says_who_and_since_when(hers: Hers) -> None:
    alert = hers.flooded()
    hers.does(Acknowledge("amber-lark", alert, hers.yard.now_ms, "Anna Tolley", "on my way, and cross about it"))
    says = hers.says
    assert "Anna Tolley has had it since 18:03. You need not come, and please do not board." in says
    assert "Nobody" not in says
    assert "Eiderhythe Yard writes to you when it is over." in says
    assert "cross about it" not in hers.page


def test_what_has_cleared_and_waits_for_a_visit_is_told_as_such(hers: Hers) -> None:
    alert = hers.flooded()
    hers.does(Acknowledge("amber-lark", alert, hers.yard.now_ms, "Anna Tolley"))
    hers.yard.sensed("amber-lark", "float", 0.0)
    hers.yard.passes(2)
    hers.heard()
    says = hers.says
    assert "There was water in the main bilge, and it has gone down." in says
    assert "Somebody from Eiderhythe Yard has to go aboard and look. Please do not board." in says
    assert "Cleared is not repaired" in says
    hers.does(Confirm("amber-lark", alert, hers.yard.now_ms, "Anna Tolley", "rain through the hatch"))
    assert "Nothing needs doing." in hers.says
    assert re.search(
        r"There was water in the main bilge, and it has gone down\. Over [\d:]+; Anna Tolley looked aboard\.", hers.page
    )


def test_a_call_for_nothing_stands_in_her_history_as_such(hers: Hers) -> None:
    alert = hers.flooded()
    hers.yard.sensed("amber-lark", "float", 0.0)
    hers.yard.passes(2)
    note = VisitNote(Found.FALSE_CALL, confirmed=(alert,), nothing_wrong=(alert,))
    hers.does(
        VisitReport("amber-lark", hers.yard.now_ms, "Anna Tolley", note),
        Confirm("amber-lark", alert, hers.yard.now_ms, "Anna Tolley", "", nothing_wrong=True),
    )
    told = "The watch told: There is water in the main bilge. Anna Tolley looked aboard, and nothing of it was so."
    assert told in hers.page


def test_what_is_handed_to_the_owner_stands_in_a_box_with_one_button(hers: Hers) -> None:
    alert = hers.flooded()
    hers.does(
        Acknowledge("amber-lark", alert, hers.yard.now_ms, "Anna Tolley"),
        HandOver("amber-lark", alert, hers.yard.now_ms, "Anna Tolley", OWNER.name, ""),
    )
    raw = hers.client.get("/vessels/amber-lark").text
    assert "It is handed to you" in hers.page
    assert raw.count("<button>I have it</button>") == 1
    assert raw.count('class="act-form"') == 1
    answer = hers.client.post(f"/alerts/{alert}/accept", data={"name": "x"})
    assert answer.status_code == 200
    assert "You have had it yourself since 18:03. Please ring Eiderhythe Yard before you board." in hers.says
    assert "It is handed to you" not in hers.page


def test_what_is_handed_to_another_says_to_whom(hers: Hers) -> None:
    alert = hers.flooded()
    hers.does(HandOver("amber-lark", alert, hers.yard.now_ms, "Anna Tolley", "Maud Farrier", "I have flu"))
    says = hers.says
    assert "It has been handed to Maud Farrier, who has not accepted it yet." in says
    assert "Please do not board." in says
    assert "flu" not in hers.page
    assert "<button>I have it</button>" not in hers.client.get("/vessels/amber-lark").text


def test_a_boat_that_was_never_heard_is_not_watched_yet(hers: Hers) -> None:
    says = hers.says
    assert "She is not watched yet: nothing has been heard from her." in says
    assert "Nothing needs doing" not in says
    assert "There is no picture yet" in hers.page


def test_a_boat_that_is_not_heard_any_more_is_not_known(hers: Hers) -> None:
    hers.heard()
    hers.yard.passes(20)
    says = hers.says
    assert "How she is now is not known: nothing has been heard from her since Mon 18:00." in says
    assert "Nobody can say from here whether anything is wrong." in says
    assert "Nothing needs doing" not in says


def test_a_boat_without_sensors_says_that_none_watches_her(hers: Hers) -> None:
    bare: dict[str, Any] = {
        "sensors": (),
        "liquid_systems": (),
        "batteries": (),
        "bilges": (),
        "spaces": (),
        "outside_sensor": None,
    }
    hers.changed(**bare)
    assert "No sensor watches her. None are recorded aboard, so only a visit says how she is." in hers.says


def test_a_sensor_that_was_not_heard_yet_is_named_by_its_place(hers: Hers) -> None:
    hers.heard(but=("volts",))
    says = hers.says
    assert "Not all of her is watched yet: nothing has been heard from battery." in says
    assert "The rest of her is watched, and nothing is wrong there." in says


def test_what_is_put_aside_is_told_and_nothing_else_needs_doing(hers: Hers) -> None:
    alert = hers.flooded()
    until_ms = hers.yard.now_ms + 3 * HOUR_MS
    hers.does(Shelve("amber-lark", alert, hers.yard.now_ms, "Anna Tolley", "my own bucket, do not ask", until_ms))
    says = hers.says
    assert "Nothing else needs doing. Heard 18:01, visited 5 Dec." in says
    assert "The yard has put one thing aside until 21:03: There is water in the main bilge." in says
    assert "do not ask" not in hers.page


def test_work_aboard_is_told_with_its_end(hers: Hers) -> None:
    hers.heard()
    until_ms = hers.yard.now_ms + 2 * HOUR_MS
    hers.does(Suppress("amber-lark", hers.yard.now_ms, "Anna Tolley", Aboard.WASH_DOWN, until_ms))
    assert "A wash-down is under way aboard until 20:02" in hers.says


@pytest.mark.parametrize(
    ("mode", "first"),
    [
        (Mode.LAYING_UP, "She is being laid up. Heard 18:02, visited 5 Dec."),
        (Mode.IN_COMMISSION, "She is in commission, and the winter's watch is over. Heard 18:02."),
        (Mode.IN_SLINGS, "She hangs in the slings. Heard 18:02"),
    ],
)
def test_her_time_of_the_year_is_told(hers: Hers, mode: Mode, first: str) -> None:
    hers.changed(mode=mode)
    hers.heard(ago_ms=0)
    assert first in hers.says


def test_a_trouble_of_many_boats_says_so_and_names_no_other(hers: Hers) -> None:
    others = [record(f"boat-{n}", f"Strange Boat {n}", f"C{n}") for n in range(3)]
    hers.yard.watch(*others)
    hers.flooded()
    for boat in others:
        hers.yard.sensed(boat.id, "float", 1.0)
    hers.yard.passes(0.01)
    assert "Several boats here have the same, and the yard goes from one to the next." in hers.says
    assert "Strange" not in hers.client.get("/vessels/amber-lark").text


def test_a_watch_that_hears_nothing_promises_nothing(hers: Hers) -> None:
    hers.heard()
    hers.yard.health = replace(hers.yard.health, connected=False)
    says = hers.says
    assert "Nothing was amiss when she was last heard, 18:00." in says
    assert "The yard's watch hears nothing at the moment, and the yard knows." in says
    assert "Nothing needs doing" not in says


def test_a_message_that_does_not_get_through_asks_the_owner_to_ring(hers: Hers) -> None:
    hers.flooded()
    notices = [line for c in hers.yard.view.calls(open_only=True) for line in hers.yard.view.notices(c.id)]
    for line in notices:
        hers.yard.journal.record_delivery(
            Delivery(line.notice.id, sent=False, at_ms=wall_ms(), next_ms=None, error="no")
        )
    assert "The message to the yard has not got through. Please ring the yard." in hers.says


def test_her_history_has_what_was_done_and_where_she_went_newest_first(hers: Hers) -> None:
    jobs = [
        Job(
            id=f"job-{n}", system=system, what="Drain it", end=JobEnd.DONE, by="Hanno Brightwell", on=date(2013, 10, 30)
        )
        for n, system in enumerate(("Raw water", "Fresh water", "Raw water"))
    ]
    left = Job(
        id="anodes", system="Anodes", what="Renew the anodes", end=JobEnd.NOT_DONE, by="Hanno Brightwell",
        on=date(2013, 10, 30), reason="None in stock",
    )  # fmt: skip
    visits = (Visit(on=date(2013, 11, 27), by="Hanno Brightwell"), Visit(on=date(2014, 1, 5), by="Nobody Yet"))
    hers.yard.passes(1)
    hers.changed(jobs=(*jobs, left), visits=visits, plot="D9")
    page = hers.page.partition("Her history")[2].partition("Her lay-up")[0]
    lines = (
        "Dec 2013",
        "Mon 9 Dec Ashore at plot D9, with her drain open.",
        "Nov 2013",
        "Wed 27 Nov Hanno Brightwell was aboard.",
        "Oct 2013",
        "Thu 31 Oct Laid up by Hanno Brightwell.",
        "3 jobs of her lay-up done by Hanno Brightwell: raw water and fresh water.",
        "Not done: Renew the anodes. None in stock",
    )
    places = [page.find(line) for line in lines]
    assert -1 not in places, [line for line, at in zip(lines, places, strict=True) if at < 0]
    assert places[:6] == sorted(places[:6])
    assert "Nobody Yet" not in page


def test_her_lay_up_is_told_in_ten_lines_and_what_nobody_sees_stands_there(hers: Hers) -> None:
    hers.heard()
    hers.changed(card=Card(contacts="Hanno, workshop, extension 12.", instructions="Mind the varnish"))
    raw = hers.client.get("/vessels/amber-lark").text
    lay_up = raw.partition('id="lay-up"')[2].partition("</section>")[0]
    assert 5 <= lay_up.count("<li>") <= 10
    for told in (
        f"the engine's cooling (to {MINUS}8.0 °C)",
        "Left open on purpose: cockpit drains",
        "Mind the varnish",
    ):
        assert told in text_of(lay_up), told
    assert "Last visited 5 Dec 2013; somebody is due aboard by " in text_of(lay_up)
    page = hers.page
    assert "Her card says: Hanno, workshop, extension 12." in page
    assert "What nobody can see" in page
    assert "the bung is out, so a level that does not rise proves nothing" in page
    assert hers.client.get("/vessels/amber-lark/report.pdf").headers["content-type"] == "application/pdf"
    assert hers.client.get("/calendar.ics").status_code == 200


def test_the_picture_says_how_near_frost_has_come(hers: Hers) -> None:
    hers.heard()
    hers.yard.sensed("amber-lark", "engine-space", -2.5, 60_000)
    made = hers.client.get("/vessels/amber-lark/owner.json").json()
    assert set(made) == {"winter", "week"}
    (says,) = made["winter"]["sentences"]
    assert says.startswith("The nearest that frost has come this winter was to the engine's cooling: it was")
    assert f"What is in there would freeze at {MINUS}8.0 °C, so" in says
    assert says in hers.page
    marks = [
        layer["encoding"]["text"]["value"] for layer in made["winter"]["spec"]["layer"] if "text" in layer["encoding"]
    ]
    assert f"freezes at {MINUS}8.0 °C" in marks


def test_an_owner_of_one_boat_goes_straight_to_her_and_of_several_sees_each_in_a_sentence(hers: Hers) -> None:
    hers.heard()
    assert hers.client.get("/").url.path == "/vessels/amber-lark"
    hers.yard.watch(record("barley-moon", "Barley Moon", "C7", owner=OWNER), record("not-hers", "Not Hers", "C8"))
    listed = hers.client.get("/")
    assert listed.url.path == "/"
    text = text_of(listed.text)
    assert "Amber Lark Nothing needs doing. Heard 18:00" in text
    assert "Barley Moon She is not watched yet" in text
    assert "Not Hers" not in text
    assert 'href="/vessels/barley-moon"' in hers.client.get("/vessels/amber-lark").text
    assert "Round" not in text


def test_an_owner_whom_no_record_names_is_told_what_to_do(hers: Hers) -> None:
    hers.changed(owner=None)
    answer = hers.client.get("/")
    assert answer.status_code == 200
    assert "No boat's record here has your address" in text_of(answer.text)


def test_somebody_of_the_yard_sees_what_her_owner_sees(hers: Hers, cache_dir: Path, ask: Ask) -> None:
    hers.flooded()
    yard = ask(hers.yard.deps(cache_dir))
    own = yard.get("/vessels/amber-lark")
    assert "/vessels/amber-lark?as=owner" in own.text
    assert "Whom to ring" not in own.text
    seen = text_of(yard.get("/vessels/amber-lark?as=owner").text)
    assert "This is what her owner sees." in seen
    assert "There is water in the main bilge." in seen
    assert "I have it" not in seen
