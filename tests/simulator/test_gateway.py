"""Gateways: what nothing ails goes straight through; what is late, double, lost or wrongly stamped is so as told."""

from timeit import repeat

import pytest

from simulator.gateway import RECONNECT_MS, Arrival, Gateway, PackReading
from simulator.gateway_clock import DAY_MS, GatewayClock

BEGINS_MS = 1_700_000_000_000
HOUR_MS = 3_600_000
STEP_MS = 600_000


def pack(at_ms: int) -> list[PackReading]:
    return [("cabin", "Cel", at_ms, 4.5), ("mains", "/", at_ms, 1.0)]


def send(gateway: Gateway, first: int, last: int) -> list[Arrival]:
    """Send the packs of steps, the last one not included, and give what came."""
    came: list[Arrival] = []
    for n in range(first, last):
        at_ms = BEGINS_MS + n * STEP_MS
        came += gateway.send(at_ms, pack(at_ms))
    return came


def steps(came: list[Arrival]) -> list[int]:
    """Give the steps whose packs came, by their stated times."""
    return [(arrival.readings[0][2] - BEGINS_MS) // STEP_MS for arrival in came]


def test_what_nothing_ails_goes_straight_through() -> None:
    came = send(Gateway(1), 0, 5)
    assert came == [Arrival(BEGINS_MS + n * STEP_MS, pack(BEGINS_MS + n * STEP_MS)) for n in range(5)]


def test_nothing_to_send_is_no_pack() -> None:
    gateway = Gateway(1)
    assert list(gateway.send(BEGINS_MS, [])) == list(gateway.due(BEGINS_MS)) == []
    gateway.lag(10)
    assert list(gateway.send(BEGINS_MS + 1, [])) == list(gateway.due(BEGINS_MS + 2)) == []


def test_straight_through_takes_less_than_a_microsecond() -> None:
    gateway, readings = Gateway(1), pack(BEGINS_MS)
    took_s = min(repeat(lambda: gateway.send(BEGINS_MS, readings), number=20_000, repeat=3)) / 20_000
    assert took_s < 1e-6  # usually 0.3e-6 s


# --- the link


def test_an_outage_keeps_packs_and_sends_them_in_order_with_their_old_times_when_it_ends() -> None:
    gateway = Gateway(1)
    assert steps(send(gateway, 0, 3)) == [0, 1, 2]
    gateway.lose_link()
    assert send(gateway, 3, 9) == []
    back_ms = BEGINS_MS + 8 * STEP_MS + 1
    gateway.regain_link(back_ms)
    came = send(gateway, 9, 12)
    assert steps(came) == [3, 4, 5, 6, 7, 8, 9, 10, 11]
    assert [a.at_ms for a in came[:6]] == [back_ms + RECONNECT_MS] * 6
    assert gateway.dropped == 0


def test_what_is_sent_while_the_link_is_coming_back_stands_behind_what_was_kept() -> None:
    gateway = Gateway(1)
    gateway.lose_link()
    send(gateway, 0, 2)
    back_ms = BEGINS_MS + 2 * STEP_MS
    gateway.regain_link(back_ms)
    assert list(gateway.send(back_ms + 1000, [("float", "/", back_ms + 1000, 1.0)])) == []
    came = list(gateway.due(back_ms + RECONNECT_MS))
    assert [len(a.readings) for a in came] == [2, 2, 1]


def test_a_full_store_drops_its_oldest_and_counts_them() -> None:
    gateway = Gateway(1, store=4)
    gateway.lose_link()
    send(gateway, 0, 10)
    gateway.regain_link(BEGINS_MS + 10 * STEP_MS - 1)
    assert steps(send(gateway, 11, 12)) == [6, 7, 8, 9, 11]
    assert gateway.dropped == 6


def test_a_store_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="store is 0; a gateway keeps at least 1 pack"):
        Gateway(1, store=0)


def test_what_was_kept_may_come_in_any_order_and_the_seed_says_which() -> None:
    def order(seed: int) -> list[int]:
        gateway = Gateway(seed)
        gateway.lose_link()
        send(gateway, 0, 20)
        gateway.regain_link(BEGINS_MS + 20 * STEP_MS - 1, in_order=False)
        return steps(send(gateway, 21, 22))

    assert order(1) == order(1) != order(2)
    assert order(1) != sorted(order(1)) == [*range(20), 21]


def test_a_link_that_lags_lets_packs_overtake_each_other_and_loses_none() -> None:
    gateway = Gateway(3)
    gateway.lag(3 * STEP_MS / 1000)
    came = send(gateway, 0, 200)
    gateway.lag(0)
    came += send(gateway, 210, 211)
    assert sorted(steps(came)) == [*range(200), 210]
    assert steps(came) != sorted(steps(came))
    times = [a.at_ms for a in came]
    assert times == sorted(times)
    assert all(0 <= a.at_ms - a.readings[0][2] <= 3 * STEP_MS for a in came)


def test_a_share_of_the_packs_comes_twice() -> None:
    gateway = Gateway(3)
    gateway.repeat(0.1)
    came = send(gateway, 0, 2000)
    assert sorted(set(steps(came))) == list(range(2000))
    assert len(came) - 2000 == pytest.approx(200, abs=50)  # +/- 13 (binomial)
    gateway.repeat(0)
    assert len(send(gateway, 2000, 2500)) == 500


# --- reboots, and what the broker kept


def test_a_reboot_loses_what_falls_into_it() -> None:
    gateway = Gateway(1)
    gateway.reboot(BEGINS_MS + STEP_MS, minutes=25)
    assert steps(send(gateway, 0, 8)) == [4, 5, 6, 7]
    assert gateway.dropped == 4


@pytest.mark.parametrize(("loses", "came"), [(True, [3, 4]), (False, [2, 3, 4])])
def test_a_short_reboot_between_two_packs_loses_the_next_or_none(loses: bool, came: list[int]) -> None:
    gateway = Gateway(1)
    send(gateway, 0, 2)
    gateway.reboot(BEGINS_MS + STEP_MS + 1000, minutes=2, loses_pack=loses)
    assert steps(send(gateway, 2, 5)) == came


def test_a_reboot_without_its_store_loses_what_was_kept() -> None:
    gateway = Gateway(1)
    gateway.lose_link()
    send(gateway, 0, 5)
    gateway.reboot(BEGINS_MS + 4 * STEP_MS, minutes=1, loses_pack=False, keeps_store=False)
    send(gateway, 5, 6)
    gateway.regain_link(BEGINS_MS + 5 * STEP_MS)
    assert steps(send(gateway, 6, 7)) == [5, 6]
    assert gateway.dropped == 5


def test_the_broker_hands_out_the_last_pack_that_came_however_old() -> None:
    gateway = Gateway(1)
    gateway.hand_retained(BEGINS_MS)  # nothing has come yet: nothing is handed out
    send(gateway, 0, 3)
    gateway.lose_link()
    send(gateway, 3, 5)
    gateway.hand_retained(BEGINS_MS + 5 * STEP_MS)
    (old,) = send(gateway, 6, 7)
    assert old == Arrival(BEGINS_MS + 5 * STEP_MS + RECONNECT_MS, pack(BEGINS_MS + 2 * STEP_MS), retained=True)


# --- the clock


def test_a_clock_an_hour_ahead_states_an_hour_ahead_until_it_is_set() -> None:
    gateway = Gateway(1)
    gateway.clock_jumps(HOUR_MS)
    (arrival,) = send(gateway, 0, 1)
    assert arrival == Arrival(BEGINS_MS, pack(BEGINS_MS + HOUR_MS))
    gateway.clock_is_set()
    assert steps(send(gateway, 1, 3)) == [1, 2]


def test_a_clock_drifts_by_the_day_from_where_it_stood() -> None:
    clock = GatewayClock()
    assert clock.is_right
    clock.jump(-5_000)
    clock.drift(12.0, BEGINS_MS)
    assert clock.reads(BEGINS_MS) == BEGINS_MS - 5_000
    assert clock.reads(BEGINS_MS + 10 * DAY_MS) == BEGINS_MS + 10 * DAY_MS + 115_000
    clock.drift(0.0, BEGINS_MS + 10 * DAY_MS)
    assert clock.reads(BEGINS_MS + 30 * DAY_MS) == BEGINS_MS + 30 * DAY_MS + 115_000
    assert not clock.is_right
    clock.set_right()
    assert clock.is_right


@pytest.mark.parametrize("restarts_ms", [0, 946_684_800_000])  # 1970-01-01, 2000-01-01
def test_a_clock_that_forgot_the_time_begins_again_and_runs_on(restarts_ms: int) -> None:
    gateway = Gateway(1)
    gateway.forget_time(BEGINS_MS, restarts_ms)
    came = send(gateway, 1, 3)
    assert [a.readings[0][2] for a in came] == [restarts_ms + STEP_MS, restarts_ms + 2 * STEP_MS]
    assert [a.at_ms for a in came] == [BEGINS_MS + STEP_MS, BEGINS_MS + 2 * STEP_MS]


def test_what_was_kept_with_a_wrong_clock_keeps_the_wrong_times() -> None:
    gateway = Gateway(1)
    gateway.clock_jumps(HOUR_MS)
    gateway.lose_link()
    send(gateway, 0, 2)
    gateway.clock_is_set()
    gateway.regain_link(BEGINS_MS + 2 * STEP_MS - 1)
    assert steps(send(gateway, 3, 4)) == [6, 7, 3]


def test_a_gateway_that_is_well_again_hands_straight_through_again() -> None:
    gateway = Gateway(1)
    gateway.lose_link()
    gateway.clock_jumps(HOUR_MS)
    gateway.lag(5)
    gateway.repeat(0.5)
    gateway.reboot(BEGINS_MS, 1)
    send(gateway, 0, 3)
    gateway.clock_is_set()
    gateway.lag(0)
    gateway.repeat(0)
    gateway.regain_link(BEGINS_MS + 3 * STEP_MS)
    send(gateway, 4, 5)
    assert gateway._is_plain
    assert steps(send(gateway, 5, 8)) == [5, 6, 7]
