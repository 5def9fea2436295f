"""Every route asks whether this viewer may see this vessel."""

import httpx
import pytest
from yards import Yard

from monitor.web import sight


@pytest.fixture
def sees_all_but_amber_lark(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sight, "may_see", lambda _viewer, vessel: vessel not in {"amber-lark", None})


@pytest.mark.usefixtures("sees_all_but_amber_lark")
def test_a_vessel_that_may_not_be_seen_is_not_there(yard: Yard, client: httpx.Client) -> None:
    alert = next(a.id for a in yard.alerts.values() if a.vessel == "amber-lark")
    for path in ("/", "/rows?ids=amber-lark", "/api/vessels", "/api/alerts", "/api/alerts?open=false"):
        answer = client.get(path)
        assert answer.status_code == 200
        assert "amber-lark" not in answer.text, path
    for path in (
        "/vessels/amber-lark",
        "/vessels/amber-lark/charts.json",
        "/api/vessels/amber-lark",
        "/api/vessels/amber-lark/record",
        "/api/vessels/amber-lark/readings?sensor=cabin",
        f"/api/alerts/{alert}",
        "/rejects",
        "/api/rejects",
    ):
        assert client.get(path).status_code == 404, path
    assert client.post(f"/alerts/{alert}/acknowledge", data={"name": "x"}).status_code == 404
    assert client.post(f"/api/alerts/{alert}/acknowledge", json={"name": "x"}).status_code == 404
    assert client.put("/api/vessels/amber-lark/record", json={}).status_code == 404
    assert yard.commands == []


@pytest.mark.usefixtures("sees_all_but_amber_lark")
def test_metrics_do_not_name_vessels(client: httpx.Client) -> None:
    assert "amber-lark" not in client.get("/metrics").text
