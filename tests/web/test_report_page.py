"""The report and the packs over the pages: the pages' own figures, and only for whom they are."""

import csv
import io
import zipfile

import httpx
import pytest
from pypdf import PdfReader
from yards import Yard

from monitor.model.access import Grade
from monitor.report import winter_of
from monitor.report.coverage import coverage
from monitor.report.exposure_held import frost
from monitor.report.gather import responses_of
from monitor.web import sight
from monitor.web.grades import LEAST
from monitor.web.page_report import shelf_of


def test_the_button_gives_the_report(client: httpx.Client) -> None:
    assert '"/vessels/amber-lark/report.pdf"' in client.get("/vessels/amber-lark").text
    answer = client.get("/vessels/amber-lark/report.pdf", timeout=60)  # the first sets fonts and charts up
    assert answer.headers["content-type"] == "application/pdf"
    assert answer.headers["content-disposition"] == 'attachment; filename="amber-lark-winter-2013.pdf"'
    assert "Amber Lark" in PdfReader(io.BytesIO(answer.content)).pages[0].extract_text()
    assert client.get("/vessels/amber-lark/report.pdf?winter=2050").status_code == 404
    assert client.get("/vessels/nobody/report.pdf").status_code == 404


def test_its_figures_are_those_of_the_api(yard: Yard, client: httpx.Client, deps: object) -> None:
    shelf = shelf_of(deps)
    span = winter_of(yard.view.versions("amber-lark"), None, yard.now_ms, shelf.zone)
    alerts = client.get("/api/alerts?open=false&vessel=amber-lark").json()
    assert {a["id"] for a in alerts} == {r.alert.id for r in responses_of(shelf, span)}
    hours = client.get(
        "/api/vessels/amber-lark/readings",
        params={"sensor": "engine-space", "from": "2013-10-31T16:00:00Z", "buckets": 4_000},
    ).json()
    assert hours["step_s"] == 3600
    means = [b["mean"] for b in hours["buckets"]]
    (_, zero) = frost(span, yard.view)
    assert zero.hours == sum(m <= 0 for m in means)
    assert zero.depth_hours == pytest.approx(sum(-m for m in means if m <= 0))
    heard = next(c for c in coverage(span, yard.view, shelf.zone) if c.sensor.id == "engine-space")
    assert heard.readings == sum(b["count"] for b in hours["buckets"])


def test_the_yard_gets_the_pack_of_an_alert(yard: Yard, client: httpx.Client) -> None:
    alert = next(a for a in yard.alerts.values() if a.vessel == "amber-lark")
    answer = client.get(f"/alerts/{alert.id}/incident.zip")
    assert answer.headers["content-type"] == "application/zip"
    with zipfile.ZipFile(io.BytesIO(answer.content)) as pack:
        assert "README.txt" in pack.namelist()
    assert client.get("/alerts/0000/incident.zip").status_code == 404


def test_readings_come_as_csv(client: httpx.Client) -> None:
    assert 'href="/api/vessels/amber-lark/readings.csv"' in client.get("/vessels/amber-lark").text
    answer = client.get("/api/vessels/amber-lark/readings.csv", params={"from": "2013-12-09T00:00:00Z"})
    assert answer.headers["content-type"].startswith("text/csv")
    rows = list(csv.DictReader(io.StringIO(answer.text)))
    assert {r["vessel"] for r in rows} == {"amber-lark"}
    assert min(r["time_utc"] for r in rows) >= "2013-12-09T00"
    empty = client.get("/api/vessels/amber-lark/readings.csv", params={"from": "2030-01-01T00:00:00Z"})
    assert empty.status_code == 422


def test_what_may_not_be_seen_is_not_there(yard: Yard, client: httpx.Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sight, "may_see", lambda _viewer, vessel: vessel != "amber-lark")
    alert = next(a for a in yard.alerts.values() if a.vessel == "amber-lark")
    paths = ("/vessels/amber-lark/report.pdf", "/api/vessels/amber-lark/readings.csv")
    for path in (*paths, f"/alerts/{alert.id}/incident.zip"):
        assert client.get(path).status_code == 404, path


def test_owners_get_their_report_and_readings_and_no_pack() -> None:
    assert LEAST["GET", "/vessels/{vessel_id}/report.pdf"] is Grade.OWNER
    assert LEAST["GET", "/api/vessels/{vessel_id}/readings.csv"] is Grade.OWNER
    assert LEAST["GET", "/alerts/{alert_id}/incident.zip"] is Grade.YARD
