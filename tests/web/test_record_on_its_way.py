"""A change of a record of which nobody knows yet whether it was taken is not taken back by the next one."""

from collections.abc import Callable, Iterator
from concurrent.futures import Future
from pathlib import Path

import httpx
import pytest
from yards import Yard, record

from monitor.model.inputs import Command, RecordVersion
from monitor.web import Deps, commands

PAGE = "/vessels/amber-lark/move"


class StalledYard(Yard):
    """A yard whose journal is locked while a batch is being committed."""

    def __init__(self, path: Path) -> None:
        super().__init__(path)
        self.stalls = False
        self.stalled: list[tuple[Command, Future[str | None]]] = []

    def _take(self, command: Command, answer: "Future[str | None]") -> None:
        if self.stalls:
            answer.set_running_or_notify_cancel()
            self.stalled.append((command, answer))
        else:
            super()._take(command, answer)

    def goes_on(self) -> None:
        """Commit what was in hand."""
        self.stalls = False
        for command, answer in self.stalled:
            super()._take(command, answer)


@pytest.fixture
def yard(tmp_path: Path) -> Iterator[StalledYard]:
    made = StalledYard(tmp_path / "journal.db")
    made.lay_up(record("amber-lark", "Amber Lark", "B10"))
    yield made
    made.close()


def test_what_was_not_answered_in_time_is_not_taken_back_by_the_next_change(
    yard: StalledYard,
    cache_dir: Path,
    ask: Callable[[Deps], httpx.Client],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(commands, "TIMEOUT_S", 0.2)
    client = ask(yard.deps(cache_dir))
    said = {"name": "Anna Tolley", "mode": "ashore bung out", "berth": ""}
    yard.stalls = True
    assert client.post(PAGE, data=said | {"plot": "C1"}).status_code == 503
    again = client.post("/api/vessels/amber-lark/move", json=said | {"plot": "C2"})
    assert again.status_code == 503
    assert "still on its way" in again.text
    yard.goes_on()
    stored = yard.view.record("amber-lark")
    assert stored is not None
    assert stored.vessel.plot == "C1"
    assert client.post(PAGE, data=said | {"plot": "C3"}).status_code in {200, 303}
    assert [c.vessel.plot for c, _ in yard.stalled if isinstance(c, RecordVersion)] == ["C1"]
    moved = yard.view.record("amber-lark")
    assert moved is not None
    assert moved.vessel.plot == "C3"
