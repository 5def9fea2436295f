"""Every page that there is, for every grade, in a real browser: nobody is shut out by how it is made.

The pages are those of the app's own routes: a new one that is not walked here fails until it has what it needs.
"""

import re
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import httpx
import pytest
from axe_playwright_python.sync_playwright import Axe
from conftest import Served
from playwright.sync_api import Browser, Page
from test_sign_in import GOOD, OWN, PEOPLE, filled, walked
from told import call_of, line_of, notice_of
from yards import HOUR_MS, NOW_MS, Yard, record

from monitor.model.access import Grade
from monitor.model.inputs import VisitReport
from monitor.model.vessel import Person
from monitor.model.visit import Found, VisitNote
from monitor.store.access import AccessFile
from monitor.web import Deps
from monitor.web.door import wall_ms

pytestmark = pytest.mark.browser
AXE = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}
NO_PAGE = frozenset(
    {
        *("/changes", "/static/{digest}/{name}", "/static/charts/{name}", "/in/{secret}", "/rows"),
        "/vessels/{vessel_id}/photos/{photo_id}",
    }
)
FILES = (".pdf", ".zip", ".json", ".ics")
"""What never ends, is no page, or only leads to one."""
PHONE, DESK, PAPER = 360, 1280, 720
SMALL = """() => [...document.querySelectorAll("button, select, textarea, summary, input:not([type=hidden])")]
  .filter((one) => one.checkVisibility() && one.offsetWidth > 1)
  .map((one) => [one, ["checkbox", "radio"].includes(one.type) ? one.closest("label") ?? one : one])
  .filter(([one, touched]) => Math.round(touched.getBoundingClientRect().height) < 44)
  .map(([one]) => one.tagName + " " + (one.name ?? "") + " " + one.textContent.trim().slice(0, 40))"""
WIDE = """(most) => document.documentElement.scrollWidth <= most ? [] : [...document.querySelectorAll("body *")]
  .filter((one) => one.checkVisibility() && one.getBoundingClientRect().right > most + 1)
  .map((one) => one.tagName + "." + one.className).slice(-3).concat(document.documentElement.scrollWidth + " px")"""
CLIPPED = """() => [...document.querySelectorAll("main *")]
  .filter((one) => one.checkVisibility() && getComputedStyle(one).overflowX !== "visible" && one.clientWidth > 4)
  .filter((one) => one.scrollWidth > one.clientWidth + 1)
  .map((one) => one.tagName + "." + one.className)"""
MAIN = re.compile(r"<main.*</main>", re.DOTALL)


@pytest.fixture
def access(tmp_path: Path) -> Iterator[AccessFile]:
    """Those who may sign in."""
    with closing(AccessFile(tmp_path / "access.sqlite", bytes(32))) as made:
        yield made


@pytest.fixture
def peopled(yard: Yard, deps: Deps, access: AccessFile) -> Deps:
    """The small yard with something on every page: an owner, calls, messages that came and that did not, a visit."""
    for vessel, name in ((OWN, "Fern Island"), ("amber-lark", "Amber Lark")):
        owner = Person(name="Olga Invented", email="olga@example.org")
        yard.lay_up(record(vessel, name, "B0", owner=owner), at_ms=NOW_MS - HOUR_MS)
    for account in PEOPLE.values():
        access.put(account, wall_ms())
    call = call_of([a for a in yard.alerts.values() if a.vessel == "amber-lark"], "amber-lark")
    yard.told.made.append(call)
    yard.told.lines += [
        line_of(notice_of(call), sent_ms=NOW_MS),
        line_of(notice_of(call, "Ben Arrow", 1), given_up_ms=NOW_MS, tries=9, error="no such host"),
    ]
    yard.told.found.append(VisitReport("amber-lark", NOW_MS, "Wilf Sandring", VisitNote(Found.AS_TOLD, note="Wet")))
    return replace(deps, access=access, address=lambda: "https://boats.example")


def session_of(access: AccessFile, grade: Grade) -> str:
    """Sign somebody of a grade in."""
    account = PEOPLE[grade]
    made = access.take_up(access.invite(account.login, wall_ms()), account, GOOD, wall_ms())
    assert made is not None
    return made


def addresses(deps: Deps, yard: Yard, access: AccessFile) -> list[str]:
    """Give the address of every page that there is, and of some that there are not."""
    alert = next(a.id for a in yard.alerts.values() if a.vessel == "amber-lark")
    invitation = access.invite("yan", wall_ms())
    token = yard.links.sign(notice_of(yard.told.made[0]).id)
    found = ["/nowhere", "/?area=row-B&who=nobody", "/?q=nothing+like+it"]
    for method, path in sorted(walked(deps)):
        if method != "GET" or path.startswith("/api") or path in NO_PAGE or path.endswith(FILES):
            continue
        # The one entry of a part that has only one is taken out otherwise than one of many.
        known = path.replace("record/{part}/remove", "record/owner/remove").replace("{invitation}", invitation)
        found.append(filled(known.replace("{token}", token), alert))
    return found


def looked_at(page: Page, address: str, complaints: list[str]) -> list[str]:
    """Look at a page on a telephone and at a desk, by day and by night, and on paper; say what is wrong with it."""
    page.set_viewport_size({"width": PHONE, "height": 780})
    page.emulate_media(color_scheme="light", media="screen")
    page.goto(address)
    wrong = [f"complains: {text}" for text in complaints if "status of 40" not in text]
    complaints.clear()
    wrong += [] if page.locator("h1").count() == 1 else [f"{page.locator('h1').count()} headings of the first order"]
    wrong += [] if page.title().strip() else ["no title"]
    wrong += [] if page.locator("html").get_attribute("lang") == "en" else ["no language"]
    wrong += [f"too small to touch: {one}" for one in page.evaluate(SMALL)]
    wrong += [f"wider than a phone: {one}" for one in page.evaluate(WIDE, PHONE)]
    wrong += violations(page, AXE, "phone, light")
    # Colours are of the scheme and places of the width, so that two of the four say what all four would.
    page.emulate_media(color_scheme="dark")
    page.set_viewport_size({"width": DESK, "height": 900})
    wrong += violations(page, AXE, "desk, dark")
    page.set_viewport_size({"width": PAPER, "height": 1000})
    page.emulate_media(media="print")
    wrong += ["navigation on paper"] if page.locator("nav:visible").count() else []
    wrong += [f"wider than paper: {one}" for one in page.evaluate(WIDE, PAPER)]
    wrong += [f"clipped on paper: {one}" for one in page.evaluate(CLIPPED)]
    return wrong


def violations(page: Page, options: dict[str, list[str]], where: str) -> list[str]:
    """Give what axe finds."""
    found = Axe().run(page, options=options).response["violations"]
    return [f"axe, {where}: {v['id']}: {v['nodes'][0]['html'][:160]} ({len(v['nodes'])})" for v in found]


SEEN: set[str] = set()
"""What was looked at for a grade before: most pages are the same for several, but for who looks."""


@pytest.mark.parametrize("grade", [Grade.MANAGER, Grade.ENGINEER, Grade.YARD, Grade.OWNER])
def test_every_page_can_be_read_by_everybody_on_everything(
    peopled: Deps, yard: Yard, access: AccessFile, browser: Browser, serve: Callable[[Deps], Served], grade: Grade
) -> None:
    base, session = serve(peopled).address, session_of(access, grade)
    context = browser.new_context()
    context.add_cookies([{"name": "coldberth", "value": session, "url": base}])
    page, complaints, wrong = context.new_page(), list[str](), list[str]()
    page.on("console", lambda m: complaints.append(m.text) if m.type in {"error", "warning"} else None)
    page.on("pageerror", lambda e: complaints.append(str(e)))
    pages = 0
    headers = {"Accept": "text/html", "Cookie": f"coldberth={session}"}
    with httpx.Client(base_url=base, headers=headers, timeout=60) as client:
        for path in addresses(peopled, yard, access):
            answer = client.get(path)
            if not answer.headers.get("content-type", "").startswith("text/html"):
                continue
            pages += 1
            if grade is Grade.MANAGER and answer.status_code != 200 and path != "/nowhere":
                wrong.append(f"{path}: answers {answer.status_code}: give the yard of this test what the page shows")
            main = MAIN.search(answer.text)
            assert main is not None, path
            shown = main[0].replace(PEOPLE[grade].name, "").replace(PEOPLE[grade].login, "")
            if shown not in SEEN:
                SEEN.add(shown)
                wrong += [f"{path}: {one}" for one in looked_at(page, base + path, complaints)]
    context.close()
    assert pages > 20
    assert wrong == [], "\n" + "\n".join(wrong)
