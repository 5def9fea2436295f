"""The JSON API: what it gives, and that every error is problem details (RFC 9457)."""

import tomllib
from dataclasses import replace
from typing import Any

import httpx
import pytest
from prometheus_client.openmetrics.parser import text_string_to_metric_families
from told import call_of, line_of, notice_of
from yards import HOUR_MS, NOW_MS, Yard, record

from monitor.model.document import write_vessel
from monitor.model.inputs import RecordVersion


def assert_problem(answer: Any, status: int) -> dict[str, Any]:
    """Hold an answer against RFC 9457."""
    assert answer.status_code == status, answer.text
    assert answer.headers["content-type"] == "application/problem+json"
    body: dict[str, Any] = answer.json()
    assert body["status"] == status
    assert {"type", "title", "detail", "instance"} <= body.keys()
    return body


def test_vessels_come_worst_first(client: httpx.Client) -> None:
    found = client.get("/api/vessels").json()
    assert [v["id"] for v in found][:2] == ["amber-lark", "barley-moon"]
    assert found[0] == {
        "id": "amber-lark",
        "name": "Amber Lark",
        "place": "plot B0",
        "mode": "ashore bung out",
        "state": "Act now",
        "sentence": "Engine closed cooling is close to its freezing point (open since 14:02)",
        "seen_by": None,
        "heard": "2013-12-09T18:00:00Z",
        "open_alerts": 2,
        "put_aside": 0,
        "aboard": None,
    }
    assert client.get("/api/vessels/barley-moon").json()["seen_by"] == "Wilf Sandring"


def test_every_route_of_the_document_answers_and_every_error_is_a_problem(yard: Yard, client: httpx.Client) -> None:
    document = client.get("/api/openapi.json").json()
    alert = next(iter(yard.alerts))
    told = call_of([yard.alerts[alert]], "amber-lark")
    yard.told.made.append(told)
    notice = notice_of(told)
    yard.told.lines.append(line_of(notice, given_up_ms=yard.now_ms, error="410 Gone"))
    until = {"name": "Odile", "until": "+1h"}
    bodies: dict[str, dict[str, object]] = {
        "/api/alerts/{alert_id}/acknowledge": {"name": "Odile"},
        "/api/alerts/{alert_id}/confirm": {"name": "Odile", "note": "was aboard"},
        "/api/alerts/{alert_id}/hand-over": {"name": "Odile", "to": "Joss"},
        "/api/alerts/{alert_id}/accept": {"name": "Joss"},
        "/api/alerts/{alert_id}/shelve": until | {"reason": "pump"},
        "/api/alerts/{alert_id}/bring-back": {"name": "Odile"},
        "/api/alerts/{alert_id}/out-of-service": {"name": "Odile", "reason": "broken"},
        "/api/vessels/{vessel_id}/aboard": until | {"reason": "lift"},
        "/api/vessels/{vessel_id}/visits": {"name": "Odile", "found": "as told"},
        "/api/undelivered/{notice_id}/again": {},
        "/api/vessels/{vessel_id}/gate": {"name": "Odile", "act": "dry", "since": "16:00"},
        "/api/vessels/{vessel_id}/gate/{item_id}": {"name": "Odile", "act": "done"},
        "/api/vessels/{vessel_id}/move": {"name": "Odile", "mode": "ashore bung out", "plot": "B0"},
        "/api/vessels/{vessel_id}/work/{job_id}": {"by": "Odile", "end": "not fitted"},
    }
    answers = {"/api/vessels/{vessel_id}/visits": 201, "/api/undelivered/{notice_id}/again": 204}
    answers["/api/vessels/{vessel_id}/gate"] = 409  # nobody has said that she is in the slings
    seen = set()
    for path, methods in document["paths"].items():
        for method in methods:
            seen.add((method, path))
            fill = {"vessel_id": "amber-lark", "alert_id": alert, "call_id": "c" * 16, "notice_id": notice.id}
            fill |= {"item_id": "tag-7", "job_id": "kit-flares"}
            query = {"sensor": "cabin"} if path.endswith("/readings") else {}
            if method == "delete":
                query = {"name": "Odile"}
            body = bodies[path] if method == "post" else None
            if method == "put":
                body = record("amber-lark", "Amber Lark").model_dump(mode="json")
            good = client.request(method, path.format(**fill), params=query, json=body)
            assert good.status_code == (answers.get(path, 200) if method == "post" else 200), (path, good.text)
            if "{" in path:
                none = {"vessel_id": "nobody", "alert_id": "0" * 16, "call_id": "0" * 16, "notice_id": "none"}
                none |= {"item_id": "none", "job_id": "none"}
                wrong = client.request(method, path.format(**none), params=query, json=body)
                assert_problem(wrong, 422 if method == "put" else 404)
        assert_problem(client.request("PATCH", path.format(**fill)), 405)
    assert len(seen) == 33
    assert yard.sent_again == [notice.id]
    assert_problem(client.get("/api/nothing"), 404)


@pytest.mark.parametrize(
    ("path", "key"),
    [
        ("/api/vessels/amber-lark/readings", "sensor"),
        ("/api/vessels/amber-lark/readings?sensor=cabin&buckets=0", "buckets"),
        ("/api/vessels/amber-lark/readings?sensor=cabin&from=yesterday", "from"),
        ("/api/vessels/amber-lark/readings?sensor=cabin&from=2013-12-09T00:00:00", "from"),
        ("/api/alerts?open=perhaps", "open"),
        ("/api/alerts?limit=-1", "limit"),
    ],
)
def test_a_wrong_question_is_told_where_it_is_wrong(client: httpx.Client, path: str, key: str) -> None:
    assert key in [e["key"] for e in assert_problem(client.get(path), 422)["errors"]]


def test_an_empty_span_and_an_unknown_sensor_are_told(client: httpx.Client) -> None:
    span = {"sensor": "cabin", "from": "2013-12-09T00:00:00Z", "to": "2013-12-08T00:00:00Z"}
    assert_problem(client.get("/api/vessels/amber-lark/readings", params=span), 422)
    assert_problem(client.get("/api/vessels/amber-lark/readings", params={"sensor": "nose"}), 404)


def test_readings_come_in_buckets(client: httpx.Client) -> None:
    query = {"sensor": "cabin", "buckets": 200}
    found = client.get("/api/vessels/amber-lark/readings", params=query).json()
    assert (found["unit"], found["quantity"], found["step_s"]) == ("Cel", "temperature", 900.0)
    assert len(found["buckets"]) == 41  # 49 readings in 48 hours, both ends counted, less eight in the gap
    assert found["buckets"][-1] == {
        "start": "2013-12-09T18:00:00Z",
        "low": 1.0,
        "high": 1.0,
        "mean": 1.0,
        "count": 1,
        "worst": 1,
    }


def test_alerts_open_and_ended_and_with_their_events(client: httpx.Client) -> None:
    still = client.get("/api/alerts").json()
    every = client.get("/api/alerts", params={"open": "false"}).json()
    assert (len(still), len(every)) == (6, 7)
    assert all(a["ended"] is None for a in still)
    mine = client.get("/api/alerts", params={"vessel": "barley-moon"}).json()
    assert [(a["state"], a["acknowledged_by"]) for a in mine] == [("acknowledged", "Wilf Sandring")]
    full = client.get(f"/api/alerts/{mine[0]['id']}").json()
    assert [(e["change"], e["actor"]) for e in full["events"]] == [
        ("opened", "watch"),
        ("acknowledged", "Wilf Sandring"),
    ]
    assert full["finding"]["facts"]["margin_k"] == 0.8
    assert full["title"] == "Engine closed cooling is close to its freezing point"


def test_an_acknowledgement_answers_with_the_alert_as_it_is_now(yard: Yard, client: httpx.Client) -> None:
    alert = next(a.id for a in yard.alerts.values() if a.vessel == "dove-hollow")
    answer = client.post(f"/api/alerts/{alert}/acknowledge", json={"name": "Odile", "note": "later today"})
    assert answer.json()["state"] == "acknowledged"
    assert answer.json()["events"][-1]["note"] == "later today"
    assert_problem(client.post(f"/api/alerts/{alert}/acknowledge", json={"name": " "}), 422)
    assert_problem(client.post(f"/api/alerts/{alert}/acknowledge", json={}), 422)
    assert_problem(
        client.post(f"/api/alerts/{alert}/acknowledge", content=b"{", headers={"content-type": "application/json"}), 422
    )


def test_a_record_goes_out_and_comes_back_as_toml(yard: Yard, client: httpx.Client) -> None:
    text = client.get("/api/vessels/amber-lark/record", params={"form": "toml"}).text
    assert tomllib.loads(text)["name"] == "Amber Lark"
    again = text.replace("Amber Lark", "Amber Lark II")
    toml = {"Content-Type": "application/toml"}
    answer = client.put("/api/vessels/amber-lark/record", params={"by": "Odile"}, content=again, headers=toml)
    assert (answer.status_code, answer.json()["version"], answer.json()["actor"]) == (200, 2, "Odile")
    assert answer.json()["vessel"]["name"] == "Amber Lark II"
    (command,) = yard.commands
    assert isinstance(command, RecordVersion)
    assert (command.at_ms, command.vessel.name) == (NOW_MS, "Amber Lark II")


def test_a_new_vessel_is_created(client: httpx.Client) -> None:
    made = record("new-moon", "New Moon")
    toml = {"Content-Type": "application/toml"}
    answer = client.put("/api/vessels/new-moon/record", content=write_vessel(made), headers=toml)
    assert answer.status_code == 201
    assert client.get("/api/vessels/new-moon").json()["state"] == "No data"


def test_every_mistake_in_a_record_is_named_in_one_answer(yard: Yard, client: httpx.Client) -> None:
    wrong = record("amber-lark", "Amber Lark").model_dump(mode="json")
    wrong["mode"] = "flying"
    wrong["colour"] = "red"
    wrong["batteries"][0]["capacity_ah"] = -1
    found = assert_problem(client.put("/api/vessels/amber-lark/record", json=wrong), 422)
    assert {e["key"] for e in found["errors"]} == {"mode", "colour", "batteries.0.capacity_ah"}
    assert found["detail"] == "3 mistakes in the record."
    assert yard.commands == []


@pytest.mark.parametrize(
    ("body", "kind", "reason"),
    [
        (b"{", "application/json", "not JSON"),
        (b"= 3", "application/toml", "not TOML"),
        (b"\xff", "application/toml", "not TOML"),
        (b"[]", "application/json", "1 mistake"),
    ],
)
def test_what_is_no_record_is_told(client: httpx.Client, body: bytes, kind: str, reason: str) -> None:
    answer = client.put("/api/vessels/amber-lark/record", content=body, headers={"Content-Type": kind})
    assert reason in assert_problem(answer, 422)["detail"]


def test_a_record_under_another_vessels_address_is_refused(client: httpx.Client) -> None:
    body = record("amber-lark", "Amber Lark").model_dump(mode="json")
    found = assert_problem(client.put("/api/vessels/barley-moon/record", json=body), 422)
    assert found["errors"][0]["key"] == "id"


def test_rejects_are_data_too(client: httpx.Client) -> None:
    found = client.get("/api/rejects").json()
    assert [r["reason"] for r in found] == ["malformed", "wrong unit"]


def test_metrics_are_openmetrics(client: httpx.Client) -> None:
    answer = client.get("/metrics")
    assert answer.headers["content-type"].startswith("application/openmetrics-text")
    samples = {
        (s.name, *s.labels.values()): s.value for f in text_string_to_metric_families(answer.text) for s in f.samples
    }
    assert samples["coldberth_readings_stored_total",] == 7 * 42 * 2 + 7 * (
        4 + 2
    )  # two boats' two days, one reading of each other, two old ones
    assert samples["coldberth_rejects_total", "wrong unit"] == 1
    assert samples["coldberth_intake_total", "duplicates"] == 3
    assert samples["coldberth_open_alerts", "alarm"] == 1
    assert samples["coldberth_last_commit_age_seconds",] == 1
    assert samples["coldberth_connected",] == 1


def test_health_answers_503_with_the_reasons(yard: Yard, client: httpx.Client) -> None:
    assert client.get("/healthz").json() == {"ok": True, "reasons": [], "delays": []}
    stale = replace(yard.health, last_commit_ms=yard.now_ms - HOUR_MS, caught_up=False, troubles=("The disk is full.",))
    yard.health = stale
    answer = client.get("/healthz")
    assert answer.status_code == 503
    assert [r.split(":")[0].split(".")[0] for r in answer.json()["reasons"]] == [
        "Catching up with what the broker kept",
        "Nothing has been stored for 1 hour",
        "The disk is full",
    ]
