"""The pages of the running demo, driven in a real browser: broker, simulator, agent and pages together."""

import re
import signal
import subprocess
import sys
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, expect

STARTS_WITHIN_S = 60


@pytest.fixture(scope="module")
def demo() -> Iterator[str]:
    """Give the address of the pages of a demo that is on its way through the winter."""
    words = [sys.executable, "-m", "monitor", "demo", "--minutes", "6", "--port", "0"]
    with subprocess.Popen(words, stderr=subprocess.PIPE, text=True) as running:
        assert running.stderr is not None
        found = re.search(r"http://\S+", running.stderr.readline())
        assert found is not None, running.stderr.read()
        yield found[0]
        running.send_signal(signal.SIGINT)
        assert running.wait(30) == 130


@pytest.mark.browser
@pytest.mark.timeout(300)
def test_the_yard_and_a_vessel_live_through_the_demos_winter(demo: str, browser: Browser) -> None:
    page = browser.new_page()
    complaints: list[str] = []
    page.on("console", lambda m: complaints.append(m.text) if m.type in {"error", "warning"} else None)
    page.on("pageerror", lambda e: complaints.append(str(e)))
    page.goto(demo)
    rows = page.locator("[data-vessel]")
    expect(rows).to_have_count(12, timeout=STARTS_WITHIN_S * 1000)
    # The winter goes on under our eyes: the pipes left wet on Barley Moon are told without a reload.
    barley = page.locator('[data-vessel="barley-moon"]')
    expect(barley).to_contain_text("left wet", timeout=120_000)
    page.goto(f"{demo}/vessels/barley-moon")
    page.wait_for_selector("body[data-drawn]", timeout=60_000)
    assert page.locator(".chart svg").count() >= 4
    expect(page.locator("article.alert").first).to_contain_text(
        re.compile("Drain it|have it drained")
    )  # or it has cleared
    seen = page.locator("article.alert").first.locator("form:visible")  # the others wait behind their lines
    seen.get_by_label("Your name").fill("R. Invented")
    seen.get_by_role("button", name="I have seen this").click()
    expect(page.locator("article.alert").first).to_contain_text("Seen by R. Invented", timeout=20_000)
    assert complaints == []
    page.close()
