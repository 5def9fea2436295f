"""A frost night over a yard: one fleet event, one message an owner, the ladder in event time, nothing lost."""

import os
from collections.abc import Callable, Iterator
from contextlib import ExitStack

import pytest
from acceptance.frost_night import FrostNight
from fixtures_broker import Broker

from monitor.model.people import Ladder
from monitor.telling.limits import CLIMBS_ANEW_WITH

BOATS = int(os.environ.get("COLDBERTH_TEST_BOATS", "16"))
KILLS = int(os.environ.get("COLDBERTH_TEST_NIGHT_KILLS", "4"))
MINUTE_MS = 60_000


@pytest.fixture(scope="module")
def nights(
    tmp_path_factory: pytest.TempPathFactory, require_program: Callable[[str], str]
) -> Iterator[tuple[FrostNight, FrostNight]]:
    folder = tmp_path_factory.mktemp("night")
    with ExitStack() as stack:
        made = []
        for name, kills in (("whole", 0), ("killed", KILLS)):
            broker = Broker(require_program("mosquitto"), folder / f"broker-{name}")
            broker.start()
            stack.callback(broker.stop)
            night = FrostNight(folder / name, broker, BOATS)
            stack.callback(night.close)
            night.import_records()
            night.start()
            night.play(kills, 3)
            night.deliver(kills, 4)
            made.append(night)
        whole, killed = made
        yield whole, killed


pytestmark = [pytest.mark.broker, pytest.mark.slow, pytest.mark.timeout(900)]


def test_one_frost_night_is_one_fleet_event_of_all_its_boats(nights: tuple[FrostNight, FrostNight]) -> None:
    whole, _ = nights
    events = whole.count().fleet_events
    assert [about for about, _ in events] == ["frost"]
    frosty = whole.rows("SELECT count(DISTINCT vessel) FROM alert WHERE rule = 'frost' AND highest != 'caution'")
    assert frosty[0][0] == BOATS


def test_each_owner_is_told_once_of_the_night(nights: tuple[FrostNight, FrostNight]) -> None:
    whole, _ = nights
    per_owner = whole.rows(
        "SELECT address, count(*) FROM notice WHERE owner = 1 AND kind NOT IN ('over', 'taken') GROUP BY address"
    )
    assert len(per_owner) == BOATS
    assert {count for _, count in per_owner} == {1}


def test_the_ladder_is_climbed_once_in_event_time(nights: tuple[FrostNight, FrostNight]) -> None:
    whole, _ = nights
    rows = whole.rows(
        "SELECT person, notice.kind, at_ms, channel = 'webhook' FROM notice JOIN call ON call.id = notice.call"
        " WHERE call.kind = 'fleet' AND owner = 0 ORDER BY at_ms"
    )
    rung = min(at for person, _, at, rings in rows if rings and person == "Anna Invented")
    ben = [at for person, kind, at, _ in rows if (person, kind) == ("Ben Invented", "escalated")]
    carl = [at for person, kind, at, _ in rows if (person, kind) == ("Carl Invented", "escalated")]
    assert (ben[0], carl[0]) == (rung + 15 * MINUTE_MS, rung + 30 * MINUTE_MS)
    # Told again each hour, six times; a boat that joins near its end or later begins the ladder anew, and none before.
    ladder = Ladder()
    repeats = ladder.repeat_at_most - CLIMBS_ANEW_WITH
    near_its_end = rung + (ladder.manager_after_min + repeats * ladder.repeat_min) * MINUTE_MS
    assert all(at >= near_its_end for at in (*ben[1:], *carl[1:]))


@pytest.mark.parametrize("which", [0, 1])
def test_nothing_is_lost_through_outage_and_kills_and_nothing_comes_twice_but_by_a_kill(
    nights: tuple[FrostNight, FrostNight], which: int
) -> None:
    count = nights[which].count()
    print(count)
    assert count.stored == count.readings
    assert (count.lost, count.waiting, count.doubled_otherwise) == (0, 0, 0)
    # At each kill one message of each channel may have been taken and not yet recorded; it comes again with its own id.
    assert count.doubled <= 2 * count.kills
    assert nights[which].hook.forged == 0


def test_a_killed_agent_tells_the_same_people_the_same_at_the_same_time(nights: tuple[FrostNight, FrostNight]) -> None:
    whole, killed = nights
    assert killed.told() == whole.told()
    assert len(whole.told()) > 2 * BOATS


def test_a_mail_says_what_is_wrong_where_and_what_to_do(nights: tuple[FrostNight, FrostNight]) -> None:
    whole, _ = nights
    first = next(mail for address, mail in whole.mail.box.taken if address == "owner-1@example.org")
    owner = first.get_body(("plain",))
    assert owner is not None
    assert "hull 1, plot a4" in owner.get_content().lower()
    assert "the yard has been told" in owner.get_content()
    assert {told["type"] for _, told in whole.hook.taken} == {"call.new", "call.more", "call.worse", "call.again"}
