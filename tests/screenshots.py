"""Take the pictures of the documents: ``python -m tests.screenshots``.

The demo goes to its day in haste and stays there. Its pages are taken as they stand; then a newcomer walks through it.
"""

import shutil
import sys
import tempfile
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

import typst
from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

sys.path.insert(0, str(Path(__file__).parent))

from acceptance.newcomer_walk import LiveDemo, Walk

FOLDER = Path(__file__).parents[1] / "deploy" / "docs"
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking"]
COLOURS = 256
"""So many are kept, the most frequent: the pages are grey until something is abnormal."""
MOST_BYTES = 150_000
REPORT_WIDTH_PX = 744
PHONE = (360, 740)
HER = "/vessels/nettlewing"
_STEP = "details.prove-step summary"


@dataclass(frozen=True, slots=True)
class Shot:
    """A picture of the top of a page.

    Attributes:
        name: the file's.
        path: the page's address.
        size: the viewport, in pixels.
        dark: whether it is taken by night.
        press: what is pressed first.
    """

    name: str
    path: str
    size: tuple[int, int]
    dark: bool = False
    press: str | None = None


SHOTS = (
    Shot("yard.png", "/", (1280, 1060)),
    Shot("vessel.png", HER, (1280, 1150)),
    Shot("phone.png", "/", PHONE, dark=True),
    Shot("round.png", "/round", (360, 1180)),
    Shot("gate.png", f"{HER}/gate", (360, 1180)),
    Shot("owner.png", f"{HER}?as=owner", (360, 1080)),
    Shot("record.png", f"{HER}/record", (360, 1180)),
    Shot("work.png", f"{HER}/work", (360, 1080), press="details.work-fold summary"),
    Shot("prove.png", f"{HER}/commission", (360, 1180), press=_STEP),
    Shot("coolant.png", "/coolant?sum=replace&system_l=12&now=30&now_as=volume&wanted=-30&fill=95", (360, 1180)),
    Shot("settings.png", "/settings", (1280, 900)),
)
MATTERS = {
    "walk-sensor.png": "#heard",
    "walk-prove.png": "#ring",
    "walk-alert.png": "#alerts",
    "walk-visit.png": "fieldset:has-text('float switch')",
    "walk-ready.png": "#slings-words",
}
"""What of a page the walk has come to, where it is not its top."""


def main() -> None:
    """Take all of them."""
    chromium = shutil.which("chromium")
    if chromium is None:
        raise SystemExit("chromium is needed: apt-get install chromium")
    FOLDER.mkdir(exist_ok=True)
    demo = LiveDemo()
    try:
        demo.wait_until_live()
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=chromium, args=FLAGS)
            for shot in (*SHOTS, alert_of(browser, demo.address)):
                take(browser, demo.address, shot)
            keep("report.png", report(browser, demo.address))
            walk(browser, demo)
            browser.close()
    finally:
        demo.stop()


def take(browser: Browser, address: str, shot: Shot) -> None:
    """Take one."""
    width, height = shot.size
    context = browser.new_context(
        viewport={"width": width, "height": height}, color_scheme="dark" if shot.dark else "light"
    )
    page = context.new_page()
    page.goto(f"{address}{shot.path}")
    if shot.press is not None:
        page.locator(shot.press).first.click()
        page.evaluate("document.activeElement.blur(); scrollTo(0, 0)")
        page.mouse.move(0, 0)
    page.wait_for_timeout(2_500)
    keep(shot.name, page.screenshot())
    context.close()


def alert_of(browser: Browser, address: str) -> Shot:
    """Give the picture of the page of her alert: its address is made when it opens."""
    page = browser.new_page()
    page.goto(f"{address}{HER}")
    path = page.locator(".to-why a").first.get_attribute("href")
    page.close()
    assert path is not None
    return Shot("alert.png", path, (1280, 1060))


def report(browser: Browser, address: str) -> bytes:
    """Draw the first page of her report; larger than it is kept, so that no letter is cut."""
    page = browser.new_page()
    pdf = page.request.get(f"{address}{HER}/report.pdf", timeout=120_000).body()
    page.close()
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "report.pdf").write_bytes(pdf)
        source = Path(folder) / "page.typ"
        source.write_text('#set page(margin: 0pt, width: auto, height: auto)\n#image("report.pdf", page: 1)', "utf-8")
        drawn = typst.compile(source, root=Path(folder), format="png", ppi=288)
    with Image.open(BytesIO(drawn)) as image:
        scale = REPORT_WIDTH_PX / image.width
        small = image.convert("L").resize((REPORT_WIDTH_PX, round(image.height * scale)))
    made = BytesIO()
    small.save(made, "PNG")
    return made.getvalue()


def walk(browser: Browser, demo: LiveDemo) -> None:
    """Walk as a newcomer does, and take what they come to."""
    page = browser.new_page(viewport={"width": PHONE[0], "height": PHONE[1]})
    newcomer = Walk(page, demo, picture=camera(page))
    for step in (
        newcomer.add_her,
        newcomer.fill_record,
        newcomer.do_a_job,
        newcomer.prove_sensors,
        newcomer.lay_her_up,
        newcomer.get_the_alert,
        newcomer.visit_her,
        newcomer.pass_the_gate,
    ):
        step()
    page.close()


def camera(page: Page) -> Callable[[str], None]:
    """Give what takes a picture of a telephone's screen as the walk stands."""

    def picture(name: str) -> None:
        page.evaluate("document.activeElement?.blur(); scrollTo(0, 0)")
        if name in MATTERS:
            page.locator(MATTERS[name]).first.evaluate("one => scrollTo(0, one.getBoundingClientRect().top - 12)")
        page.wait_for_timeout(2_500)
        keep(name, page.screenshot())

    return picture


def keep(name: str, picture: bytes) -> None:
    """Keep a picture with few colours, as a page of the docs can carry it."""
    with Image.open(BytesIO(picture)) as image:
        whole = image.convert("RGB")
    pixels = whole.tobytes()
    often = Counter(pixels[at : at + 3] for at in range(0, len(pixels), 3)).most_common(COLOURS)
    palette = Image.new("P", (1, 1))
    palette.putpalette(b"".join(colour for colour, _ in often))
    few = whole.quantize(palette=palette, dither=Image.Dither.NONE)
    few.save(FOLDER / name, optimize=True)
    size = (FOLDER / name).stat().st_size
    assert size < MOST_BYTES, f"{name} has {size:,} bytes"
    print(FOLDER / name, f"{size:,}")


if __name__ == "__main__":
    main()
