"""The lay-up's work over the real app and a real journal: pages, photos, API, command; by phone and on paper."""

import asyncio
import json
import re
from collections.abc import Callable, Iterator
from concurrent.futures import Future
from dataclasses import replace
from http.client import HTTPConnection
from pathlib import Path
from typing import Any

import httpx
import pytest
from axe_playwright_python.sync_playwright import Axe
from conftest import Served, Window
from photographed import photo_bytes
from yards import Yard, record

from monitor.cli import main
from monitor.model.access import Grade, Known, Means
from monitor.model.inputs import RecordVersion
from monitor.model.vessel import Vessel
from monitor.model.work import Engine, Job, Rig
from monitor.web import Deps
from monitor.web import door as doors

Open = Callable[..., Window]
AXE = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
PAGE = "/vessels/amber-lark/work"
IMPELLER, COOLANT, BATTERY = f"{PAGE}/raw-impeller", f"{PAGE}/coolant-freeze-point", f"{PAGE}/battery-charged"
API = f"/api{PAGE}"
DONE = {"end": "done", "by": "Enid Invented", "on": "2013-12-08"}


@pytest.fixture
def yard(tmp_path: Path) -> Iterator[Yard]:
    made = Yard(tmp_path / "journal.db")
    made.lay_up(record("amber-lark", "Amber Lark", "B10", engine=Engine.INBOARD_DIESEL, rig=Rig.SAIL))
    yield made
    made.close()


@pytest.fixture
def deps(yard: Yard, cache_dir: Path) -> Deps:
    def keep(photos: Any) -> "Future[str | None]":
        answer: Future[str | None] = Future()
        yard.journal.keep_photos(photos)
        answer.set_result(None)
        return answer

    return yard.deps(cache_dir, photos=yard.view, keep_photos=keep)


def now(yard: Yard) -> Vessel:
    stored = yard.view.record("amber-lark")
    assert stored is not None
    return stored.vessel


def job(yard: Yard, job_id: str) -> Job:
    return next(job for job in now(yard).jobs if job.id == job_id)


def save(client: httpx.Client, path: str, data: dict[str, Any], *photos: tuple[str, bytes]) -> httpx.Response:
    seen = re.search(r'name="seen" value="(\w*)"', client.get(path).text)
    assert seen is not None
    files = [("photos", (name, content, "image/jpeg")) for name, content in photos]
    return client.post(path, data={"seen": seen[1], **data}, files=files or [("photos", ("", b""))])


def test_the_list_stands_by_system_with_what_is_still_to_say(client: httpx.Client) -> None:
    page = client.get(PAGE).text
    assert "engine maker's book goes first" in page.replace("&#39;", "'")
    assert page.index("<h2>Fuel") < page.index("<h2>Closed cooling") < page.index("<h2>Cradle and cover")
    assert "Impeller taken out" in page
    assert "Sterndrive" not in page.replace("Gearbox, sterndrive", "")
    assert "Bilge pump run by its switch" not in page  # she stands ashore
    assert not re.search(r"\bsafe\b", page, re.IGNORECASE)
    assert PAGE in client.get("/vessels/amber-lark").text
    total = re.search(r"0 of (\d+) jobs written down", page)
    assert total is not None
    client.post(f"{API}/kit-flares", json={"by": "Enid", "end": "not fitted"})
    after = client.get(PAGE).text
    assert f"1 of {total[1]} jobs written down" in after
    assert "<b>Not fitted.</b> Enid" in after
    assert "Flares taken ashore" in after
    assert "Flares taken ashore" not in client.get(f"{PAGE}?left=true").text


def test_of_a_boat_whose_engine_is_not_recorded_jobs_of_every_kind_are_listed(yard: Yard, client: httpx.Client) -> None:
    yard.lay_up(record("barley-moon", "Barley Moon", "B11"))
    page = client.get("/vessels/barley-moon/work").text
    assert "does not say what drives her, nor whether she has a mast" in page
    assert "Bellows looked at" in page
    assert "/vessels/barley-moon/record/boat" in page
    assert client.get("/vessels/barley-moon/record/boat").status_code == 200


def test_a_saved_job_is_a_new_version_with_an_open_item_and_its_tag(yard: Yard, client: httpx.Client) -> None:
    form = client.get(IMPELLER).text
    assert "next free: 8" in form  # tag 7 hangs on her
    offered = {"leaves": "yes", "item": "Impeller is out of the raw-water pump: fit it before the first start"}
    answer = save(client, IMPELLER, DONE | offered | {"due": "before lift", "instruction": "Owner's letter, 1 Dec"})
    assert answer.status_code == 200
    assert answer.url.path == PAGE
    said = job(yard, "raw-impeller")
    assert (said.by, said.system, said.tags, said.instruction) == (
        "Enid Invented",
        "Raw water",
        (8,),
        "Owner's letter, 1 Dec",
    )
    item = next(item for item in now(yard).open_items if item.tag == 8)
    assert (item.due, item.opens_hull, item.closed) == ("before lift", False, None)
    (command,) = yard.commands
    assert isinstance(command, RecordVersion)
    assert (command.actor, command.at_ms) == ("Enid Invented", yard.now_ms)
    page = client.get(PAGE).text
    assert "<b>Tag 8</b> Impeller is out of the raw-water pump" in page
    assert "Enid Invented, 8 Dec 2013, to: Owner&#39;s letter, 1 Dec" in page


def test_a_tag_stays_when_the_answer_changes_and_comes_off_in_words(yard: Yard, client: httpx.Client) -> None:
    save(client, IMPELLER, DONE | {"leaves": "yes", "item": "Impeller is out", "due": "before lift", "tag": "31"})
    assert job(yard, "raw-impeller").tags == (31,)
    save(client, IMPELLER, DONE | {"end": "not done", "reason": "no puller"})
    assert (job(yard, "raw-impeller").end, job(yard, "raw-impeller").tags) == ("not done", (31,))
    assert next(i for i in now(yard).open_items if i.tag == 31).closed is None
    save(client, IMPELLER, DONE | {"end": "not done", "reason": "no puller", "off.31": "it never came out"})
    item = next(item for item in now(yard).open_items if item.tag == 31)
    assert (str(item.closed), item.closed_by) == ("2013-12-08", "Enid Invented")
    assert job(yard, "raw-impeller").note == "Tag 31 taken off: it never came out"
    assert job(yard, "raw-impeller").tags == (31,)


def test_words_that_are_too_long_together_are_said(yard: Yard, client: httpx.Client) -> None:
    save(client, IMPELLER, DONE | {"leaves": "yes", "item": "Impeller is out", "due": "before lift"})
    answer = save(client, IMPELLER, DONE | {"note": "n" * 490, "off.8": "it never came out"})
    assert answer.status_code == 422
    assert "at most 500 characters" in answer.text
    assert next(item for item in now(yard).open_items if item.tag == 8).closed is None


def test_what_a_job_commonly_leaves_is_filled_in_and_hung_only_where_it_was_done(
    yard: Yard, client: httpx.Client
) -> None:
    form = client.get(f"{PAGE}/seacocks-log").text
    for field in ('id="leaves" name="leaves" value="yes" checked', 'name="opens_hull" value="yes" checked'):
        assert field in form
    battery = client.get(BATTERY).text
    assert "<summary>Something is left open, off or out</summary>" in battery  # and none of it is filled in
    assert 'value="yes" checked' not in battery
    offered = {"leaves": "yes", "item": "Log is out, blank in", "due": "before lift", "opens_hull": "yes"}
    save(client, f"{PAGE}/seacocks-log", DONE | offered | {"end": "not fitted"})
    assert [item.tag for item in now(yard).open_items] == [7]
    save(client, f"{PAGE}/seacocks-log", DONE | offered)
    assert [(item.tag, item.opens_hull) for item in now(yard).open_items] == [(7, False), (8, True)]
    assert "Log is out, blank in" in client.get("/vessels/amber-lark/gate").text


@pytest.mark.parametrize(
    ("path", "typed", "says"),
    [
        (BATTERY, {"end": ""}, "Say how it ended"),
        (BATTERY, {"end": "not done"}, "Say why it was not done"),
        (BATTERY, {"by": " "}, "Say who did it"),
        (BATTERY, {"on": "soon"}, "Give the day as"),
        (BATTERY, {"on": "2013-12-10"}, "still to come"),
        (BATTERY, {"readings.0": "full"}, "is no number"),
        (BATTERY, {"readings.0": "1270"}, "lies outside 0 to 60 V"),
        (BATTERY, {"leaves": "yes", "item": ""}, "Say what is left open"),
        (BATTERY, {"leaves": "yes", "item": "x", "due": "before lift", "tag": "seven"}, "is no tag"),
        (BATTERY, {"leaves": "yes", "item": "x", "due": "before lift", "tag": "70000"}, "from 1 to 9999"),
        (BATTERY, {"leaves": "yes", "item": "x", "due": "before lift", "tag": "7"}, "hangs on"),
        (BATTERY, {"leaves": "yes", "item": "x", "due": "some day"}, "Say when it must be put right"),
        (BATTERY, {"off.7": "gone"}, "tag 7 is not one of this job"),
        (COOLANT, {"into.closed-cooling": "yes"}, "write down the coolant freeze point"),
        (COOLANT, {"into.closed-cooling": "yes", "readings.0": "-30"}, "say what the coolant freeze point was"),
    ],
)
def test_what_is_wrong_is_said_and_what_was_typed_is_kept(
    yard: Yard, client: httpx.Client, path: str, typed: dict[str, str], says: str
) -> None:
    answer = save(client, path, DONE | {"note": "typed with cold fingers"} | typed)
    assert answer.status_code == 422
    assert says.lower() in answer.text.lower()
    assert "typed with cold fingers" in answer.text
    assert "Not saved yet" in answer.text
    for key in {"readings.0", "tag", "on"} & typed.keys():
        assert f'value="{typed[key]}"' in answer.text
    assert yard.commands == []


def test_a_tag_that_is_nowhere_in_the_record_is_no_field_of_the_form(yard: Yard, client: httpx.Client) -> None:
    assert save(client, BATTERY, DONE | {"off." + "7" * 900: "gone"}).status_code == 200
    assert "gone" not in job(yard, BATTERY.rsplit("/", 1)[1]).note


def test_a_tested_point_is_written_into_the_liquid_system_only_where_asked(yard: Yard, client: httpx.Client) -> None:
    form = " ".join(client.get(COOLANT).text.split())
    assert "stands there as treated, tested to \N{MINUS SIGN}8.0 °C by refractometer on 29 Oct 2013" in form
    for link in ("/vessels/amber-lark/record/liquid-systems/closed-cooling", "/coolant?vessel=amber-lark&amp;system="):
        assert link in form
        assert client.get(link.replace("&amp;system=", "&system=closed-cooling")).status_code == 200
    read = {"readings.0": "\N{MINUS SIGN}31,5", "means.0": "ball tester"}
    save(client, COOLANT, DONE | read)
    assert now(yard).liquid_systems[0].tested_freeze_degc == -8.0
    (measured,) = job(yard, "coolant-freeze-point").readings
    assert (measured.value, measured.unit, measured.by_means_of) == (-31.5, "°C", "ball tester")
    save(client, COOLANT, DONE | read | {"into.closed-cooling": "yes", "liquid.closed-cooling": "propylene glycol"})
    system = now(yard).liquid_systems[0]
    assert (system.state, system.tested_freeze_degc, system.tester) == ("treated", -31.5, "ball tester")
    assert (str(system.tested), system.liquid) == ("2013-12-08", "propylene glycol")
    raw = client.get(f"{PAGE}/raw-antifreeze").text
    assert "Her record has none yet" in raw
    assert "/vessels/amber-lark/record/liquid-systems/new" in raw
    assert client.get("/vessels/amber-lark/record/liquid-systems/new").status_code == 200


def test_a_reading_keeps_all_its_figures_when_the_form_is_saved_again(yard: Yard, client: httpx.Client) -> None:
    save(client, f"{PAGE}/oil-changed", DONE | {"readings.0": "12345.25", "means.0": "hour meter"})
    form = client.get(f"{PAGE}/oil-changed").text
    assert 'value="12345.25"' in form
    assert "Engine hours 12345.25 h (hour meter)" in form
    assert job(yard, "oil-changed").readings[0].value == 12345.25


def test_two_people_at_once_lose_nothing_of_each_other(yard: Yard, served: Served) -> None:
    jobs = ["kit-flares", "kit-raft", "kit-beacon", "battery-charged", "gas-locker-drain", "air-vents", "raw-impeller"]

    async def all_at_once() -> list[int]:
        async with httpx.AsyncClient(base_url=served.address, timeout=30) as client:
            sent = [
                client.post(
                    f"{API}/{one}",
                    json={"by": f"P{n}", "end": "done", "leaves": [{"what": one, "due": "after launch"}]},
                )
                for n, one in enumerate(jobs)
            ]
            return [answer.status_code for answer in await asyncio.gather(*sent)]

    assert asyncio.run(all_at_once()) == [200] * len(jobs)
    record_now = now(yard)
    assert {job.id for job in record_now.jobs} == set(jobs)
    assert sorted(item.tag for item in record_now.open_items) == list(range(7, 15))
    assert {tag for job in record_now.jobs for tag in job.tags} == set(range(8, 15))


def test_who_changes_a_job_that_somebody_else_changed_meanwhile_is_told(yard: Yard, client: httpx.Client) -> None:
    before = re.search(r'name="seen" value="(\w*)"', client.get(BATTERY).text)
    assert before is not None
    save(client, BATTERY, DONE | {"by": "Anna Tolley"}, ("a.jpg", photo_bytes()))
    (theirs,) = job(yard, "battery-charged").photos
    late = client.post(BATTERY, data=DONE | {"seen": before[1], "end": "not fitted", "note": "mine"})
    assert late.status_code == 409
    assert "somebody else has said something of this job meanwhile (Anna Tolley: done)" in late.text.replace("S", "s")
    assert "mine" in late.text
    assert theirs in late.text  # so that it is not lost unseen
    assert job(yard, "battery-charged").by == "Anna Tolley"


def test_photos_come_with_a_job_and_are_served_to_who_may_see_her(yard: Yard, client: httpx.Client) -> None:
    saved = save(client, BATTERY, DONE, ("one.jpg", photo_bytes()), ("two.png", photo_bytes("PNG", colour="#aa2211")))
    assert saved.status_code == 200
    photos = job(yard, "battery-charged").photos
    assert len(photos) == 2
    for page in (PAGE, BATTERY, "/vessels/amber-lark"):
        assert f"/vessels/amber-lark/photos/{photos[0]}" in client.get(page).text, page
    given = client.get(f"/vessels/amber-lark/photos/{photos[0]}")
    assert (given.status_code, given.headers["content-type"]) == (200, "image/jpeg")
    assert given.headers["cache-control"] == "private, max-age=31536000, immutable"
    assert b"Invented phones" not in given.content
    save(client, BATTERY, DONE | {"photos.kept": photos[1]})
    assert job(yard, "battery-charged").photos == (photos[1],)
    assert client.get(f"/vessels/amber-lark/photos/{photos[0]}").status_code == 200  # an earlier version names it
    yard.lay_up(record("barley-moon", "Barley Moon", "B11"))
    for path in (f"/vessels/barley-moon/photos/{photos[0]}", "/vessels/amber-lark/photos/x", "/vessels/no/photos/x"):
        assert client.get(path).status_code == 404
    client.post(f"{API}/battery-charged", json={"by": "Enid", "end": "done"})
    assert job(yard, "battery-charged").photos == (photos[1],)  # data without photos leaves them


def test_photos_that_are_refused_are_told_and_the_others_are_not_lost(yard: Yard, client: httpx.Client) -> None:
    heic = b"\0\0\0\x18ftypheic" + bytes(99)
    told = save(client, BATTERY, DONE, ("good.jpg", photo_bytes()), ("IMG_7.heic", heic), ("x.txt", b"words"))
    assert told.status_code == 422
    assert "IMG_7.heic is HEIC" in told.text
    assert "x.txt is no photo" in told.text
    assert yard.commands == []
    kept = re.search(r'name="photos.kept" value="(\w{64})" checked', told.text)
    assert kept is not None
    assert save(client, BATTERY, DONE | {"photos.kept": kept[1]}).status_code == 200
    assert job(yard, "battery-charged").photos == (kept[1],)
    many = [(f"{n}.jpg", photo_bytes(size=(50, 50 + n))) for n in range(6)]
    over = save(client, BATTERY, DONE | {"photos.kept": kept[1]}, *many)
    assert "5.jpg is one too many for this job" in over.text
    foreign = save(client, BATTERY, DONE | {"photos.kept": "0" * 64})
    assert foreign.status_code == 200
    assert job(yard, "battery-charged").photos == ()


def test_a_photo_of_twelve_megabytes_comes_in_and_a_larger_body_does_not(yard: Yard, client: httpx.Client) -> None:
    large = photo_bytes(size=(400, 300)) + bytes(11_500_000)  # what stands behind a JPEG's end is no part of it
    assert save(client, BATTERY, DONE, ("large.jpg", large)).status_code == 200
    (photo,) = job(yard, "battery-charged").photos
    kept = yard.view.photo("amber-lark", photo)
    assert kept is not None
    assert len(kept.jpeg) < 20_000
    assert save(client, BATTERY, DONE, ("too.jpg", large + bytes(1_000_000))).status_code == 422
    form = {"content-type": "application/x-www-form-urlencoded"}
    for path, most in (
        (PAGE.replace("work", "visit"), 200_000),
        (f"{API}/battery-charged", 200_000),
        (BATTERY, 75_000_000),
    ):
        connection = HTTPConnection("127.0.0.1", client.base_url.port or 0)
        connection.putrequest("POST", path)
        for name, value in {**form, "content-length": str(most + 1)}.items():
            connection.putheader(name, value)
        connection.endheaders()
        assert connection.getresponse().status == 413, path
        connection.close()


def test_the_yard_sees_and_engineers_save(monkeypatch: pytest.MonkeyPatch, yard: Yard, client: httpx.Client) -> None:
    monkeypatch.setattr(doors, "HERE", Known("Yan", Grade.YARD, Means.MACHINE))
    assert client.get(PAGE).status_code == 200
    form = client.get(BATTERY).text
    assert "An engineer or a manager writes down how it ended" in form
    assert '<button class="send"' not in form
    assert client.post(BATTERY, data=DONE).status_code == 403
    assert client.post(f"{API}/battery-charged", json={"by": "Yan", "end": "done"}).status_code == 403
    monkeypatch.setattr(doors, "HERE", Known("Olga", Grade.OWNER, Means.MACHINE))
    assert client.get(PAGE).status_code == 403
    assert yard.commands == []


def test_the_list_as_data_says_what_the_page_says(yard: Yard, client: httpx.Client) -> None:
    before = client.get(API).json()
    assert before["said"] == 0
    assert before["book_first"].startswith("The engine maker's book goes first")
    answer = client.post(
        f"{API}/battery-charged",
        json=DONE | {"readings": [{"what": "Volts at rest", "value": 12.7, "by_means_of": "multimeter"}]},
    ).json()
    assert answer["said"]["readings"] == [
        {"what": "Volts at rest", "value": 12.7, "unit": "V", "by_means_of": "multimeter"}
    ]
    after = client.get(API).json()
    assert (after["said"], after["still_to_say"]) == (1, before["still_to_say"] - 1)
    for sent, status in (
        (DONE | {"end": "not done"}, 422),
        (DONE | {"readings": [{"what": "Weather", "value": 1}]}, 422),
        (DONE | {"end": "perhaps"}, 422),
        (DONE | {"photos": []}, 422),
        (DONE | {"leaves": [{"what": " ", "due": "after launch"}]}, 422),
        (DONE | {"instruction": "\ud800"}, 422),
    ):
        body = json.dumps(sent)  # as it stands: httpx would not write half a character
        answered = client.post(f"{API}/battery-charged", content=body, headers={"content-type": "application/json"})
        assert answered.status_code == status, sent
    assert client.post(f"{API}/no-such-job", json=DONE).status_code == 404
    assert client.get(f"{PAGE}/no-such-job").status_code == 404
    assert client.get("/vessels/nobody/work").status_code == 404
    assert len(yard.commands) == 1


def test_a_job_that_the_yard_left_out_since_stays_beside_the_list(
    deps: Deps, client: httpx.Client, ask: Callable[[Deps], httpx.Client]
) -> None:
    client.post(f"{API}/kit-flares", json=DONE | {"note": "six, all of 2016"})
    kept = tuple(
        system.model_copy(update={"jobs": tuple(job for job in system.jobs if job.id != "kit-flares")})
        for system in deps.work_lists.systems
    )
    fewer = replace(deps, work_lists=deps.work_lists.model_copy(update={"systems": kept}))
    page = ask(fewer).get(PAGE).text
    assert "six, all of 2016" in page[page.index("Beside the list") :]


def test_the_command_prints_the_list_with_how_each_job_ended(
    yard: Yard, client: httpx.Client, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "lists").mkdir()
    (tmp_path / "lists" / "own.toml").write_text('leave_out = ["kit-raft"]\n')
    settings = tmp_path / "settings.toml"
    settings.write_text(
        '[yard]\nid = "eiderhythe"\nname = "Eiderhythe"\nwork_lists = "lists"\n[yard.calendar]\nzone = "Europe/London"'
        f'\n[journal]\npath = "{yard.path}"\nclock = "stream"\n'
    )
    client.post(f"{API}/kit-flares", json=DONE | {"leaves": [{"what": "Flares ashore", "due": "after launch"}]})
    words = ["work", "amber-lark", "--settings", str(settings)]
    assert main(words) == 0
    printed = capsys.readouterr().out
    assert "The engine maker's book goes first" in printed
    assert "[x] kit-flares: " in printed
    assert "tag 8: Flares ashore, due after launch" in printed
    assert "[ ] kit-lifejackets: " in printed
    assert "kit-raft" not in printed
    assert main([*words, "--left"]) == 0
    assert "kit-flares" not in capsys.readouterr().out
    assert main(["work", "nobody", "--settings", str(settings)]) == 1
    assert main(["work", "--list", "--engine", "outboard", "--rig", "sail", "--lying", "afloat"]) == 0
    listed = capsys.readouterr().out
    assert "outboard-flushed" in listed
    assert "gearbox-oil" not in listed
    (tmp_path / "lists" / "own.toml").write_text('leave_out = ["kit-rafft"]\n')
    assert main(words) == 2
    assert "leave_out: there is no job 'kit-rafft'" in capsys.readouterr().err


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("path", [PAGE, COOLANT, IMPELLER])
def test_axe_finds_nothing_at_360_pixels(open_window: Open, client: httpx.Client, path: str, scheme: str) -> None:
    save(client, IMPELLER, DONE | {"leaves": "yes", "item": "Impeller out", "due": "before lift"}, ("a", photo_bytes()))
    window = open_window(path, width=360, scheme=scheme)
    found = Axe().run(window.page, options=AXE)
    assert found.violations_count == 0, found.generate_report()
    assert window.page.evaluate("document.documentElement.scrollWidth") <= 360
    assert window.complaints == []


def test_a_job_is_said_on_a_phone_without_a_script(open_window: Open, yard: Yard, tmp_path: Path) -> None:
    photo = tmp_path / "IMG_0007.jpg"
    photo.write_bytes(photo_bytes())
    page = open_window(PAGE, width=360, javascript=False).page
    page.get_by_role("heading", name="Raw water", exact=True).click()
    page.get_by_text("Impeller taken out").click()
    page.get_by_label("Done", exact=True).check()
    page.get_by_label("Done by").fill("Enid Invented")
    page.get_by_label("Tag number").fill("12")
    page.locator("#photos").set_input_files(photo)
    page.get_by_role("button", name="Save").click()
    page.wait_for_url(f"**{PAGE}#raw-impeller")
    said = job(yard, "raw-impeller")
    assert (said.end, said.by, said.tags, len(said.photos)) == ("done", "Enid Invented", (12,), 1)
    assert page.locator("#raw-impeller").get_by_role("img").count() == 1


def test_systems_are_folded_until_work_on_them_is_under_way_and_all_stand_on_paper(
    open_window: Open, client: httpx.Client
) -> None:
    page = open_window(PAGE, width=360).page
    assert page.locator(".work-fold[open]").count() == 0
    assert page.locator(".work-fold summary").first.inner_text().split("\n")[-1].endswith("still to say")
    page.emulate_media(media="print")
    impeller = page.locator("#raw-impeller a").first
    assert impeller.is_visible()
    page.emulate_media(media="screen")
    save(client, IMPELLER, DONE)
    page.reload()
    assert page.locator(".work-fold[open]").count() == 1
    assert impeller.is_visible()


def test_what_is_wrong_leads_to_its_field(open_window: Open) -> None:
    page = open_window(BATTERY, width=360).page
    page.get_by_label("Not done", exact=True).check()
    page.get_by_label("Done by").fill("Enid")
    page.get_by_role("button", name="Save").click()
    page.get_by_role("alert").get_by_role("link").click()
    assert page.locator("#reason").get_attribute("aria-invalid") == "true"
    assert page.get_by_label("Not done", exact=True).is_checked()
    found = Axe().run(page, options=AXE)
    assert found.violations_count == 0, found.generate_report()


def test_the_list_prints_with_boxes_and_blanks(open_window: Open) -> None:
    page = open_window(PAGE).page
    page.emulate_media(media="print")
    assert page.locator(".gate-box").first.is_visible()
    assert page.locator("#battery-charged .blanks").is_visible()
    assert page.get_by_text("Charging gives off hydrogen").is_visible()
    assert page.locator("progress").is_hidden()


@pytest.mark.browser
def test_who_did_the_last_job_on_this_phone_stands_in_the_next_ones_form(open_window: Open) -> None:
    page = open_window(IMPELLER, width=360).page
    page.get_by_label("Done", exact=True).check()
    page.get_by_label("Done by").fill("Enid Invented")
    page.get_by_role("button", name="Save").click()
    page.wait_for_url(f"**{PAGE}#raw-impeller")
    page.goto(page.url.split("/vessels")[0] + BATTERY)
    assert page.get_by_label("Done by").input_value() == "Enid Invented"
