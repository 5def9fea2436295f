"""When a page is usable in a real browser: it is drawn, its charts too, and the browser answers at once."""

import shutil
import statistics
from collections.abc import Sequence

from playwright.sync_api import Browser, sync_playwright

from monitor.web.guard import SESSION_COOKIE
from tests.benchmarks.pages_yard import FLAGS, MeasuredYard, Served

TIMES = 5
USABLE = """() => new Promise((done) => {
  const free = () => requestAnimationFrame(() => requestAnimationFrame(() => done(performance.now())));
  const wait = () => {
    const charts = document.querySelector("[data-chart]") === null || document.body.dataset.drawn !== undefined;
    if (document.readyState === "complete" && charts) free(); else setTimeout(wait, 5);
  };
  wait();
})"""
"""Gives when (ms since it was asked for) the page was whole and drawn, and two frames more had gone by."""


def usable_ms(yard: MeasuredYard, addresses: Sequence[str], times: int = TIMES) -> dict[str, float]:
    """Open pages in turns, each in a window of its own with nothing but style and scripts kept; give the medians."""
    chromium = shutil.which("chromium")
    if chromium is None:
        raise SystemExit("the benchmark needs chromium: apt-get install chromium, or leave it out with --no-browser")
    served = Served(yard.deps)
    took: dict[str, list[float]] = {address: [] for address in addresses}
    try:
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=chromium, args=FLAGS.split())
            _each(browser, yard, served.address, took, times)
            browser.close()
    finally:
        served.stop()
    return {address: statistics.median(ms) for address, ms in took.items()}


def _each(browser: Browser, yard: MeasuredYard, at: str, took: dict[str, list[float]], times: int) -> None:
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    context.add_cookies([{"name": SESSION_COOKIE, "value": yard.sailor, "url": at}])
    for turn in range(times + 1):
        for address, ms in took.items():
            page = context.new_page()
            page.goto(at + address, wait_until="commit")
            usable = float(page.evaluate(USABLE))
            if turn:
                ms.append(usable)
            page.close()
    context.close()
