"""A newcomer's walk through the demo with a boat of their own, on a phone: tested, and shown in the docs."""

import re
import shlex
import shutil
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime
from datetime import time as time_of_day
from zoneinfo import ZoneInfo

import httpx
from playwright.sync_api import Locator, Page, expect

NAME, BOAT = "Small Hours", "small-hours"
ENGINEER, SECOND = "Odile Marrick", "Jonah Wick"
YARD_ZONE = ZoneInfo("America/New_York")
LIVE_AT = time_of_day(9)
SHOWN_DAY = date(2014, 2, 25)
"""The demo's own: most faults stand."""
JULY = 7
Picture = Callable[[str], None]


def no_picture(_name: str) -> None:
    """Take none."""


class LiveDemo:
    """The demo as its user starts it, at the pace of the clock from a day on."""

    def __init__(self, day: date = SHOWN_DAY) -> None:
        self._live_ms = round(datetime.combine(day, LIVE_AT, YARD_ZONE).timestamp() * 1000)
        asked = ["demo", "--live", day.isoformat(), "--port", "0"]
        self._demo = subprocess.Popen([sys.executable, "-m", "monitor", *asked], stderr=subprocess.PIPE, text=True)
        assert self._demo.stderr is not None
        pages, broker = self._demo.stderr.readline(), self._demo.stderr.readline()
        found = re.search(r"http://\S+", pages), re.search(r"([\d.]+):(\d+)", broker)
        if found[0] is None or found[1] is None:
            raise RuntimeError(f"the demo did not say where it is: {pages}{broker}")
        self.address = found[0][0]
        self.host, self.port = found[1][1], int(found[1][2])

    def wait_until_live(self, within_s: float = 300.0) -> None:
        """Wait until it goes at the pace of the clock."""
        until = time.monotonic() + within_s
        while self.now_ms() < self._live_ms:
            assert self._demo.poll() is None, "the demo ended"
            assert time.monotonic() < until, "the demo did not come to its day"
            time.sleep(0.5)

    def now_ms(self) -> int:
        """Give the time that the pages show, to the minute."""
        shown = re.search(r'id="clock">\w+ (\d+ \w+), (\d+:\d+)', httpx.get(f"{self.address}/round", timeout=20).text)
        assert shown is not None
        at = datetime.strptime(f"2013 {shown[1]} {shown[2]} +0000", "%Y %d %b %H:%M %z")
        # The year is not shown: the demo's winter begins in the autumn of 2013.
        return round(at.replace(year=2013 + (at.month < JULY), tzinfo=YARD_ZONE).timestamp() * 1000)

    def stop(self) -> None:
        """End it as Ctrl-C does."""
        self._demo.terminate()
        self._demo.communicate(timeout=20)


@dataclass
class Walk:
    """The walk, a method a step; each looks at what a person would look at.

    Attributes:
        page: a phone's browser.
        demo: the demo.
        picture: takes a picture of the page as it stands, by a name.
        lines: the line that publishes a value, by sensor, as the pages gave it.
    """

    page: Page
    demo: LiveDemo
    picture: Picture = no_picture
    lines: dict[str, str] = field(default_factory=dict)

    def publish(self, sensor: str, value: float) -> None:
        """Type the line that the page gave, with a value of our own."""
        words = shlex.split(self.lines[sensor])
        program = shutil.which(words[0])
        assert program is not None, words
        words[words.index("-m") + 1] = f"{value:g}"
        subprocess.run([program, *words[1:]], check=True, timeout=20)

    def let_pass(self, minutes: float) -> None:
        """Let the demo's clock go on, as somebody with less patience than a boat would."""
        program = shutil.which("mosquitto_pub")
        assert program is not None
        at_ms = self.demo.now_ms() + round(minutes * 60_000)
        topic = "layup/eiderhythe/agent/clock"
        where = ["-h", self.demo.host, "-p", str(self.demo.port), "-q", "1", "-t", topic]
        subprocess.run([program, *where, "-m", str(at_ms)], check=True, timeout=20)
        until = time.monotonic() + 20
        while self.demo.now_ms() < at_ms:
            assert time.monotonic() < until, "the demo's clock did not go on"
            time.sleep(0.1)

    def go(self, path: str) -> None:
        """Open a page."""
        self.page.goto(f"{self.demo.address}{path}")

    def add_her(self) -> None:
        """Add a boat on the yard's page."""
        page = self.page
        self.go("/")
        page.get_by_role("link", name="Add a boat").click()
        page.get_by_label("Name", exact=True).fill(NAME)
        page.get_by_label("Inboard diesel").check()
        page.get_by_label("Sail").check()
        page.get_by_label("Ashore, on a plot").check()
        page.get_by_role("textbox", name="Plot").fill("C7")
        page.get_by_label("Owner's name").fill("Tamsin Fairlead")
        page.get_by_label("Your name").fill(ENGINEER)
        self.picture("walk-add.png")
        self._press(page.get_by_role("button", name="Add her"))
        expect(page.get_by_role("heading", level=1)).to_have_text(f"Record of {NAME}")

    def add_sensor(self, quantity: str, place: str, sensor: str, minutes: int) -> None:
        """Add a sensor, and take down the line by which it is heard."""
        page = self.page
        self.go(f"/vessels/{BOAT}/record/sensors/new")
        page.get_by_label("What it measures").select_option(quantity)
        page.get_by_label("Where it is").fill(place)
        page.get_by_label("Its id").fill(sensor)
        page.get_by_label("It reports every").fill(str(minutes))
        page.get_by_role("radio", name="Own cell").check()
        self._save()
        self.lines[sensor] = page.locator("#heard-line").inner_text()
        assert f"layup/eiderhythe/{BOAT}/{sensor}" in self.lines[sensor]

    def fill_record(self) -> None:
        """Fill what a small boat has: three sensors, her bilge, one liquid system, one seacock."""
        page = self.page
        self.add_sensor("level", "main bilge, lowest point", "bilge-level", 10)
        self.add_sensor("float_switch", "main bilge, 10 cm up", "bilge-float", 60)
        self.add_sensor("temperature", "engine space, low by the strainer", "engine-space", 10)
        self.picture("walk-sensor.png")
        self.go(f"/vessels/{BOAT}/record/bilges/new")
        page.get_by_label("Name", exact=True).fill("Main bilge")
        page.get_by_label("Level sensor").select_option("bilge-level")
        page.get_by_label("Float switch").select_option("bilge-float")
        self._save()
        self.fill_liquid()

    def fill_liquid(self) -> None:
        """Her raw water and its seacock."""
        page = self.page
        self.go(f"/vessels/{BOAT}/record/liquid-systems/new")
        page.get_by_label("Name", exact=True).fill("Engine raw water")
        page.get_by_label("Which it is").select_option("raw water")
        page.get_by_role("radio", name="Drained").check()
        for number, drain in enumerate(("strainer", "heat exchanger", "exhaust lift box")):
            page.locator(f'[name="e.drains.{number}.name"]').fill(drain)
            page.locator(f'[name="e.drains.{number}.probed"]').check()
        page.get_by_label("Its own thermometer").select_option("engine-space")
        self._save()
        self.go(f"/vessels/{BOAT}/record/seacocks/new")
        page.get_by_label("Name", exact=True).fill("Engine intake")
        page.get_by_role("radio", name="Shut").check()
        self._save()
        self.go(f"/vessels/{BOAT}/record")

    def _save(self) -> None:
        page = self.page
        name = page.get_by_label("Your name")
        if name.count():
            name.fill(ENGINEER)
        self._press(page.get_by_role("button", name="Save", exact=True))

    def do_a_job(self) -> None:
        """Take the impeller out: a job that leaves something open."""
        page = self.page
        self.go(f"/vessels/{BOAT}/work")
        page.get_by_role("heading", name="Raw water", exact=True).click()
        self.picture("walk-work.png")
        page.locator('a[href$="/work/raw-impeller"]').click()
        page.get_by_role("radio", name="Done", exact=True).check()
        page.get_by_label("Done by").fill(ENGINEER)
        self.picture("walk-job.png")
        self._press(page.get_by_role("button", name="Save", exact=True))
        self.go(f"/vessels/{BOAT}/record/open-items/new")
        page.get_by_label("What was left").fill("Paddlewheel log is out of its housing")
        page.get_by_role("radio", name="Before lift").check()
        page.get_by_role("radio", name="It is an opening in the hull").check()
        self._save()

    def lay_her_up(self) -> None:
        """Say how she lies: from then on she is watched."""
        page = self.page
        self.go(f"/vessels/{BOAT}/record/lay-up")
        page.get_by_role("radio", name="Ashore, with her drain bung in").check()
        self._press(page.get_by_role("button", name="Next"))
        self.picture("walk-lay-up.png")
        page.get_by_label("Your name").fill(ENGINEER)
        self._press(page.get_by_role("button", name="Lay her up"))
        expect(page.get_by_text("She is laid up: ashore bung in.")).to_be_visible()

    def get_the_alert(self) -> None:
        """Lift the float: the yard's page leads to her, with what to do."""
        page = self.page
        self.publish("bilge-float", 1)
        self.go("/")
        line = page.locator("#vessels li", has_text=NAME)
        expect(line).to_contain_text("Main bilge: the float switch is up")
        expect(line).to_contain_text("Act now")
        self.picture("walk-yard.png")
        line.get_by_role("link").first.click()
        article = page.locator("article", has_text="the float switch is up").first
        expect(article).to_contain_text("Do not")
        self.picture("walk-alert.png")
        form = article.locator("form", has=page.get_by_role("button", name="I have seen this"))
        form.get_by_label("Your name").fill(ENGINEER)
        self._press(form.get_by_role("button", name="I have seen this"))
        expect(page.locator("#sentence, #calls").filter(has_text=ENGINEER).first).to_be_visible()

    def visit_her(self) -> None:
        """Go aboard, find the hose, dip, and write down what was found; the alert is confirmed by it."""
        page = self.page
        self.publish("bilge-float", 0)
        self.go(f"/vessels/{BOAT}")
        page.get_by_role("link", name="Write down a visit").click()
        page.get_by_role("group", name="float switch").get_by_label("It is, or was, as told").check()
        page.get_by_label("Main bilge, dip").fill("4")
        page.get_by_role("group", name="All in all").get_by_label("What the alerts said is so").check()
        page.get_by_label("Note").fill("Rain came in by the companionway; mopped up, cover tied down")
        page.get_by_label("Your name").fill(ENGINEER)
        self.picture("walk-visit.png")
        self._press(page.get_by_role("button", name="Send"))

    def print_report(self) -> bytes:
        """Press the report's button."""
        page = self.page
        self.go(f"/vessels/{BOAT}")
        with page.expect_download() as download:
            page.get_by_role("link", name="Report of her winter").click()
        return download.value.path().read_bytes()

    def pass_the_gate(self) -> None:
        """Put everything right: two people sight the opening, she hangs in the slings until she has been dry."""
        page = self.page
        self.go(f"/vessels/{BOAT}/gate")
        self.picture("walk-gate.png")
        due = page.locator("#lift .gate-list > li:not(.closed) p:first-child a")
        while due.count():
            due.first.click()
            if page.get_by_text("nobody overrides it").count():
                self._say("I saw it closed, with my own eyes", ENGINEER)
                expect(page.locator("#lift li", has_text="Paddlewheel")).to_contain_text(
                    "another person has to sight it"
                )
                due.first.click()
                self._say("I saw it closed, with my own eyes", SECOND)
            else:
                self._say("It is done", ENGINEER)
        expect(page.locator(".gate-verdict")).to_contain_text("Ready")
        self._say("She is in the slings", ENGINEER)
        self.let_pass(1)  # she is in the slings since some second of this minute
        since = datetime.fromtimestamp(self.demo.now_ms() / 1000, YARD_ZONE)
        self.let_pass(11)
        self.go(f"/vessels/{BOAT}/gate")
        page.get_by_label("In her bilges since").fill(f"{since:%H:%M}")
        self._say("I looked until now, she stayed dry", SECOND)
        expect(page.locator("#slings-words")).to_contain_text(f"Dry, by {SECOND}")
        self.picture("walk-ready.png")

    def _say(self, button: str, name: str) -> None:
        form = self.page.locator("form", has=self.page.get_by_role("button", name=button, exact=True))
        form.get_by_label("Your name").fill(name)
        self._press(form.get_by_role("button", name=button, exact=True))

    def _press(self, button: Locator) -> None:
        """Press a form's button, and see that what was typed was taken."""
        with self.page.expect_navigation():
            button.click()
        expect(self.page.locator(".wrongs")).to_have_count(0)

    def prove_sensors(self) -> None:
        """Prove each sensor by hand, ring the duty phone, and take the watch on."""
        page = self.page
        for sensor, value, hand in (
            ("bilge-level", 0.050, "50"),
            ("bilge-float", 1, ""),
            ("engine-space", 0.2, ""),
            ("engine-space", 24.0, ""),
        ):
            self.publish(sensor, value)
            self.go(f"/vessels/{BOAT}/commission?name={ENGINEER.replace(' ', '+')}")
            step = page.locator(f"#sensor-{sensor}")
            if step.get_attribute("open") is None:
                step.locator("summary").first.click()
            form = step.locator("form", has=page.get_by_role("button", name="Proved")).first
            if hand:
                form.get_by_label("You read").fill(hand)
            self._press(form.get_by_role("button", name="Proved"))
        self.publish("bilge-float", 0)
        self.publish("bilge-level", 0.004)
        self._press(page.get_by_role("button", name="Ring the duty phone"))
        expect(page.locator("#rings")).to_contain_text("Jonah Wick")
        self.picture("walk-prove.png")
        page.get_by_label("I stand beside").check()
        page.get_by_label("Who answered the duty phone").fill("Jonah Wick")
        self._press(page.get_by_role("button", name="The yard takes the watch on"))
        expect(page.locator("#taken")).to_contain_text("The yard has the watch")
