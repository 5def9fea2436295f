"""A newcomer's walk through the live demo on a phone: deploy/docs/walk.md, step by step."""

from collections.abc import Callable, Iterator
from datetime import date
from io import BytesIO

import pytest
from acceptance.newcomer_walk import BOAT, ENGINEER, NAME, SECOND, LiveDemo, Walk
from playwright.sync_api import sync_playwright
from pypdf import PdfReader

EARLY = date(2013, 11, 12)
"""A day that the demo comes to in seconds: to the walk one day is like another."""
FLAGS = ("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking")


@pytest.fixture
def walk(require_program: Callable[[str], str]) -> Iterator[Walk]:
    chromium = require_program("chromium")
    require_program("mosquitto_pub")
    demo = LiveDemo(EARLY)
    try:
        demo.wait_until_live()
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=chromium, args=list(FLAGS))
            yield Walk(browser.new_page(viewport={"width": 360, "height": 740}), demo)
            browser.close()
    finally:
        demo.stop()


def test_a_newcomer_adds_a_boat_and_sees_her_through_to_the_launch(walk: Walk) -> None:
    walk.add_her()
    walk.fill_record()
    walk.do_a_job()
    walk.prove_sensors()
    walk.lay_her_up()
    walk.get_the_alert()
    walk.visit_her()
    text = "\n".join(page.extract_text() for page in PdfReader(BytesIO(walk.print_report())).pages)
    for said in (NAME, ENGINEER, "float switch", "Paddlewheel log is out of its housing"):
        assert said in text
    walk.pass_the_gate()
    record = walk.page.request.get(f"{walk.demo.address}/api/vessels/{BOAT}/record").json()["vessel"]
    assert [job["id"] for job in record["jobs"]] == ["raw-impeller"]
    assert {proof["sensor"] for proof in record["proofs"]} == {"bilge-level", "bilge-float", "engine-space"}
    assert record["commissioned"]["rung"] == SECOND
