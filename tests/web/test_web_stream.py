"""The live line over a real server."""

import json
from collections.abc import Callable, Iterator
from typing import Any

import httpx
import pytest
from conftest import Served
from yards import Yard, reading

from monitor.web import Deps, sight, stream


def events(answer: httpx.Response) -> Iterator[dict[str, Any]]:
    """Give the events of a stream as they come; a comment is one too."""
    event: dict[str, Any] = {}
    for line in answer.iter_lines():
        if line.startswith(":"):
            yield {"comment": line[1:].strip()}
        elif line:
            name, _, value = line.partition(": ")
            event[name] = value
        elif event:
            yield {**event, "data": json.loads(event.get("data", "null"))}
            event = {}


def test_a_change_is_told_with_its_seq_as_the_events_id(yard: Yard, served: Served) -> None:
    with httpx.stream("GET", f"{served.address}/changes", timeout=10) as answer:
        assert answer.headers["content-type"].startswith("text/event-stream")
        told = events(answer)
        assert next(told)["event"] == "clock"
        yard.hear([reading("fern-island", "cabin", yard.now_ms, 4.0)])
        changed = next(told)
    assert (changed["event"], changed["id"]) == ("changed", str(yard.seq))
    assert changed["data"]["vessels"] == ["fern-island"]
    assert changed["data"]["clock"] == "Mon 9 Dec, 18:02"


def test_last_event_id_goes_on_where_it_stopped(yard: Yard, served: Served) -> None:
    before = yard.seq
    yard.hear([reading("fern-island", "cabin", yard.now_ms, 4.0)])
    headers = {"Last-Event-ID": str(before)}
    with httpx.stream("GET", f"{served.address}/changes", headers=headers, timeout=10) as answer:
        told = events(answer)
        next(told)
        assert next(told)["data"]["vessels"] == ["fern-island"]


def test_a_quiet_line_carries_comments_and_the_clock(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(stream, "COMMENT_S", 0.2)
    monkeypatch.setattr(stream, "BEAT_S", 0.3)
    with httpx.stream("GET", f"{served.address}/changes", timeout=10) as answer:
        told = events(answer)
        first = [next(told) for _ in range(5)]
    assert any("comment" in event for event in first)
    assert sum(event.get("event") == "clock" for event in first) >= 2


def test_a_vessel_that_may_not_be_seen_is_not_told_of(
    yard: Yard, served: Served, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sight, "may_see", lambda _viewer, vessel: vessel != "fern-island")
    with httpx.stream("GET", f"{served.address}/changes", timeout=10) as answer:
        told = events(answer)
        next(told)
        yard.hear([reading("fern-island", "cabin", yard.now_ms, 4.0)])
        yard.hear([reading("ember-quay", "cabin", yard.now_ms, 4.0)])
        seen = next(e for e in told if e.get("event") == "changed")
    assert seen["data"]["vessels"] == ["ember-quay"]


def test_a_server_with_open_lines_stops_quickly(deps: Deps, serve: Callable[[Deps], Served]) -> None:
    made = serve(deps)
    with httpx.stream("GET", f"{made.address}/changes", timeout=10) as answer:
        next(events(answer))
        deps.changes.close()
        assert made.stop() < 2.0
