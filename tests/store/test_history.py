"""History follows the journal to a server that speaks the write API, through outages and refusals, losing nothing."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from boats import LAID_UP_MS, MINUTE
from history_kept import STEP_MS, Kept, reading, until
from history_receiver import Receiver
from pytest_mock import MockerFixture

import monitor.store.history
from monitor.model.scale import Flag
from monitor.store.history import CURSOR, History
from monitor.store.history_config import HistoryConfig
from monitor.store.reader import Reader


@pytest.fixture(autouse=True)
def quick(mocker: MockerFixture) -> None:
    mocker.patch.object(monitor.store.history, "FIRST_RETRY_S", 0.05)
    mocker.patch.object(monitor.store.history, "OVERLAP_S", 0.3)


@pytest.fixture
def receiver() -> Iterator[Receiver]:
    server = Receiver()
    yield server
    server.stop()


@pytest.fixture
def kept(tmp_path: Path) -> Iterator[Kept]:
    made = Kept(tmp_path / "journal.sqlite")
    yield made
    made.close()


@pytest.fixture
def history(kept: Kept, receiver: Receiver) -> Iterator[History]:
    made = kept.history(HistoryConfig(url=receiver.url, org="yard", bucket="boats"))
    yield made
    made.stop()


def key(at_ms: int, sensor: str = "cabin") -> str:
    return f"reading,yard=quay,vessel=tern,sensor={sensor} {at_ms}"


def cursor(kept: Kept) -> int:
    reader = Reader(kept.path)
    row = reader.row("SELECT seq FROM cursor WHERE name = ?", (CURSOR,))
    reader.close()
    return 0 if row is None else int(row[0])


def winter(count: int) -> list[int]:
    return [LAID_UP_MS + number * STEP_MS for number in range(count)]


def test_every_stored_reading_arrives_through_an_outage(kept: Kept, receiver: Receiver, history: History) -> None:
    kept.append([reading(at, n / 10) for n, at in enumerate(winter(2500))])
    receiver.answers = lambda _: 503
    history.start()
    until(lambda: receiver.requests >= 2)
    assert "503" in (history.failing or "")
    assert not history.complete
    assert list(history.delays()) == [f"History is not sent: {history.failing}"]
    receiver.answers = lambda _: 204
    until(lambda: len(receiver.points) == 2500)
    until(lambda: history.failing is None)
    assert receiver.points[key(LAID_UP_MS + 7 * STEP_MS)] == {"value": "0.7", "flag": "1i"}
    assert receiver.asked[0] == {"org": ["yard"], "bucket": ["boats"], "precision": ["ms"]}
    # A server that answers has what it took: nothing is sent twice.
    assert len(receiver.lines) == 2500


def test_the_cursor_stands_at_what_was_taken_some_time_ago(kept: Kept, receiver: Receiver, history: History) -> None:
    kept.append([reading(at, 1.0) for at in winter(1500)])
    history.start()
    until(lambda: len(receiver.points) == 1500)
    assert cursor(kept) == 0
    until(lambda: cursor(kept) == 1500)
    sent = len(receiver.lines)
    assert sent <= 1500 + 3, "only the last point is sent again, to hear that the server is still there"
    history.stop()
    again = kept.history(HistoryConfig(url=receiver.url))
    again.start()
    until(lambda: again.complete)
    again.stop()
    assert len(receiver.lines) == sent


def test_after_a_start_what_the_server_may_have_lost_is_sent_again(
    kept: Kept, receiver: Receiver, history: History
) -> None:
    kept.append([reading(at, 1.0) for at in winter(10)])
    history.start()
    until(lambda: len(receiver.points) == 10)
    history.stop()
    receiver.points.clear()
    again = kept.history(HistoryConfig(url=receiver.url))
    again.start()
    until(lambda: len(receiver.points) == 10)
    again.stop()


def test_a_connection_that_was_made_anew_while_nothing_came_has_the_last_points_sent_again(
    kept: Kept, mocker: MockerFixture
) -> None:
    mocker.patch.object(monitor.store.history, "OVERLAP_S", 1.5)
    kept.append([reading(at, 1.0) for at in winter(10)])
    before = Receiver()
    history = kept.history(HistoryConfig(url=before.url))
    history.start()
    until(lambda: len(before.points) == 10)
    # The server dies between two batches and is there again, without what it had taken.
    port = before.server_port
    before.stop()
    anew = Receiver(port)
    until(lambda: len(anew.points) == 10)
    until(lambda: cursor(kept) == 10)
    history.stop()
    anew.stop()


def test_a_flag_that_settles_is_sent_once_it_is_final(kept: Kept, receiver: Receiver, history: History) -> None:
    first, waits, after = winter(3)
    waiting = reading(waits, 5.0, Flag.NOT_EVALUATED)
    kept.append([reading(first, 1.0), waiting])
    history.start()
    until(lambda: len(receiver.points) == 2)
    assert receiver.points[key(waits)] == {"value": "5.0"}
    waiting.flag = Flag.SUSPECT
    kept.append([reading(after, 1.0)], settled=[waiting])
    history.wake()
    until(lambda: len(receiver.points) == 3)
    assert receiver.points[key(waits)] == {"value": "5.0", "flag": "3i"}
    assert receiver.lines[-2:] == [f"{key(waits).rsplit(' ', 1)[0]} value=5.0,flag=3i {waits}", receiver.lines[-1]]


def test_a_flag_that_settled_while_the_agent_was_down_is_sent_after_its_start(kept: Kept, receiver: Receiver) -> None:
    first, waits, failed, after = winter(4)
    waiting = reading(waits, 5.0, Flag.NOT_EVALUATED)
    kept.append([reading(first, 1.0), waiting, reading(failed, 99.0, Flag.FAIL)])
    kept.journal.move_cursor(CURSOR, 3)  # as it stands long after all was sent
    waiting.flag = Flag.PASS
    kept.append([reading(after, 1.0)], settled=[waiting])
    history = kept.history(HistoryConfig(url=receiver.url))
    history.start()
    until(lambda: len(receiver.points) == 2)
    history.stop()
    assert receiver.points == {
        key(waits): {"value": "5.0", "flag": "1i"},
        key(after): {"value": "1.0", "flag": "1i"},
    }


def test_a_flag_that_settles_with_a_reading_of_a_wrong_clock_is_sent(
    kept: Kept, receiver: Receiver, history: History
) -> None:
    first, waits, after = winter(3)
    waiting, wrong = reading(waits, 5.0, Flag.NOT_EVALUATED), reading(after, 5.0)
    wrong.stated_ms, wrong.clock_fault = LAID_UP_MS - 400 * 1440 * MINUTE, True
    kept.append([reading(first, 1.0), waiting])
    history.start()
    until(lambda: len(receiver.points) == 2)
    waiting.flag = Flag.PASS
    kept.append([wrong], settled=[waiting])
    history.wake()
    until(lambda: receiver.points[key(waits)] == {"value": "5.0", "flag": "1i"})
    assert len(receiver.points) == 2


def test_what_failed_stands_in_a_field_of_its_own(kept: Kept, receiver: Receiver, history: History) -> None:
    kept.append([reading(LAID_UP_MS, 99.5, Flag.FAIL)])
    history.start()
    until(lambda: len(receiver.points) == 1)
    assert receiver.points[key(LAID_UP_MS)] == {"failed": "99.5", "flag": "4i"}


def test_readings_that_are_not_sent_do_not_hold_the_cursor(kept: Kept, receiver: Receiver, history: History) -> None:
    old = [reading(at, 1.0) for at in winter(1200)]
    for one in old:
        one.news = False
    kept.append(old)
    history.start()
    until(lambda: cursor(kept) == 1200)
    assert receiver.lines == []


@pytest.mark.parametrize("status", [400, 413, 422])
def test_a_point_that_the_server_refuses_is_found_named_and_passed_by(
    status: int, kept: Kept, receiver: Receiver, history: History, caplog: pytest.LogCaptureFixture
) -> None:
    times = winter(1500)
    bad = {f" {times[n]}" for n in (3, 700, 1499)}
    receiver.answers = lambda lines: status if any(line.endswith(tuple(bad)) for line in lines) else 204
    kept.append([reading(at, 1.0) for at in times])
    history.start()
    until(lambda: len(receiver.points) >= 1497 and history.refused == 3)
    assert {key(at) for at in times} - set(receiver.points) == {key(times[n]) for n in (3, 700, 1499)}
    assert history.failing is None
    assert str(status) in next(history.delays())
    assert [str(times[n]) in caplog.text for n in (3, 700, 1499)] == [True] * 3
    until(lambda: cursor(kept) == 1500)


@pytest.mark.parametrize("status", [400, 401, 404])
def test_a_server_that_takes_nothing_at_all_has_no_reading_passed_by(
    status: int, kept: Kept, receiver: Receiver, history: History
) -> None:
    receiver.answers = lambda _: status
    kept.append([reading(at, 1.0) for at in winter(4)])
    history.start()
    until(lambda: str(status) in (history.failing or ""))
    assert history.refused == 0
    receiver.answers = lambda _: 204
    until(lambda: len([point for point in receiver.points if point.startswith("reading")]) == 4)


def test_a_server_that_closes_every_connection_is_written_to_all_the_same(
    kept: Kept, receiver: Receiver, history: History, mocker: MockerFixture
) -> None:
    mocker.patch.object(receiver.RequestHandlerClass, "protocol_version", "HTTP/1.0")
    kept.append([reading(at, 1.0) for at in winter(3000)])
    history.start()
    until(lambda: len(receiver.points) == 3000)
    until(lambda: cursor(kept) == 3000)


def test_nothing_is_sent_to_nobody_for_long_and_then_all_of_it(kept: Kept, mocker: MockerFixture) -> None:
    mocker.patch.object(monitor.store.history, "LONGEST_RETRY_S", 0.2)
    gone = Receiver()
    port = gone.server_port
    gone.stop()
    history = kept.history(HistoryConfig(url=f"http://127.0.0.1:{port}"))
    history.start()
    for day in range(5):
        kept.append([reading(LAID_UP_MS + day * 1440 * MINUTE + n * MINUTE, 1.0) for n in range(1440)])
        history.wake()
    until(lambda: history.failing is not None)
    back = Receiver(port)
    until(lambda: len(back.points) == 5 * 1440)
    history.stop()
    back.stop()
