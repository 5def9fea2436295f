"""How long to wait before trying again."""

from hypothesis import given
from hypothesis import strategies as st

from monitor.notify.backoff import Backoff

WAIT = Backoff(first_s=5.0, longest_s=300.0)


@given(st.integers(1, 10_000), st.text(max_size=20))
def test_a_wait_lies_between_half_and_the_whole_of_the_doubled_time(tries: int, key: str) -> None:
    whole = min(5.0 * 2.0 ** min(tries - 1, 60), 300.0)
    assert whole / 2 <= WAIT.after_s(tries, key) <= whole


@given(st.integers(1, 50), st.text(max_size=20))
def test_a_wait_is_the_same_whenever_it_is_asked(tries: int, key: str) -> None:
    assert WAIT.after_s(tries, key) == WAIT.after_s(tries, key)


def test_many_notices_do_not_come_back_at_once() -> None:
    waits = {round(WAIT.after_s(10, f"notice {n}")) for n in range(200)}
    assert len(waits) > 80
