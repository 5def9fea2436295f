"""Take the pictures of the documents: ``python -m tests.screenshots``. The demo runs once through its winter."""

import re
import shutil
import subprocess
import sys
import time
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

FOLDER = Path(__file__).parents[1] / "deploy" / "docs"
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking"]
STOP_AT = "2014-02-25"
"""Day of the winter on which the pictures are taken: the night of the seacock, with most faults standing."""


def main() -> None:
    """Start the demo, wait for the day, and take the pictures."""
    chromium = shutil.which("chromium")
    if chromium is None:
        raise SystemExit("chromium is needed: apt-get install chromium")
    FOLDER.mkdir(exist_ok=True)
    demo = subprocess.Popen(
        [sys.executable, "-m", "monitor", "demo", "--minutes", "3", "--port", "0"], stderr=subprocess.PIPE, text=True
    )
    try:
        assert demo.stderr is not None
        found = re.search(r"http://\S+", demo.stderr.readline())
        if found is None:
            raise SystemExit("the demo did not say where its pages are")
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=chromium, args=FLAGS)
            wait_for_day(browser, found[0])
            take(browser, found[0], "yard.png", 1280, 800)
            take(browser, f"{found[0]}/vessels/nettlewing", "vessel.png", 1280, 1150)
            take(browser, found[0], "phone.png", 360, 740, dark=True)
            take(browser, f"{found[0]}/round", "round.png", 360, 1180)
            browser.close()
    finally:
        demo.terminate()
        demo.wait(20)


def wait_for_day(browser: Browser, address: str) -> None:
    """Wait until the demo has come to the day."""
    page = browser.new_page()
    while page.request.get(f"{address}/api/vessels/quiet-tuesday").json()["heard"][:10] < STOP_AT:
        time.sleep(0.2)
    page.close()


def take(browser: Browser, address: str, name: str, width: int, height: int, *, dark: bool = False) -> None:
    """Take a picture of the top of a page."""
    context = browser.new_context(
        viewport={"width": width, "height": height}, color_scheme="dark" if dark else "light", device_scale_factor=1
    )
    page = context.new_page()
    page.goto(address)
    page.wait_for_timeout(2_500)
    page.screenshot(path=FOLDER / name)
    print(FOLDER / name)
    context.close()


if __name__ == "__main__":
    main()
