"""Every route asks whether this viewer may see this vessel."""

import httpx
import pytest
from told import call_of, line_of, notice_of
from yards import Yard

from monitor.model.call import CallKind
from monitor.model.inputs import Acknowledge
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


@pytest.mark.usefixtures("sees_all_but_amber_lark")
def test_what_people_do_and_were_told_keeps_to_what_may_be_seen(yard: Yard, client: httpx.Client) -> None:
    hers, other = (next(a for a in yard.alerts.values() if a.vessel == v) for v in ("amber-lark", "dove-hollow"))
    yard.told.made += [
        call_of([hers], "amber-lark"),
        call_of([hers, other], "frost", CallKind.FLEET, "f" * 16),
    ]
    notice = notice_of(yard.told.made[1])
    yard.told.lines.append(line_of(notice, tries=1, error="Amber Lark"))
    for path in ("/calls/" + "c" * 16, "/api/calls/" + "c" * 16, "/load", "/api/load"):
        assert client.get(path).status_code == 404, path
    link = f"/a/{yard.links.sign(notice.id)}"
    paths = ("/", "/calls", "/api/calls", "/calls/" + "f" * 16, "/api/calls/" + "f" * 16, "/undelivered", link)
    for path in (*paths, "/api/undelivered"):
        answer = client.get(path)
        assert answer.status_code == 200, path
        assert "amber-lark" not in answer.text, path
        assert "Amber Lark" not in answer.text, path
    acts = {"name": "x", "note": "x", "reason": "x", "until": "+1h", "to": "y"}
    for act in ("confirm", "hand-over", "accept", "shelve", "bring-back", "out-of-service"):
        assert client.post(f"/alerts/{hers.id}/{act}", data=acts).status_code == 404, act
        assert client.post(f"/api/alerts/{hers.id}/{act}", json=acts).status_code == 404, act
    aboard = {"name": "x", "reason": "lift", "until": "+1h"}
    assert client.post("/vessels/amber-lark/aboard", data=aboard).status_code == 404
    assert client.post("/vessels/amber-lark/ashore", data=aboard).status_code == 404
    assert client.delete("/api/vessels/amber-lark/aboard", params={"name": "x"}).status_code == 404
    assert client.post("/calls/" + "f" * 16 + "/acknowledge", data={"name": "x"}).status_code == 200
    assert [command.alert for command in yard.commands if isinstance(command, Acknowledge)] == [other.id]
