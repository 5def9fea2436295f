"""The wall clock is believed with care."""

from monitor.wall import WallClock

MINUTE = 60_000
HOUR = 60 * MINUTE
DAY = 24 * HOUR
NOON = 1_700_000_000_000


class Clocks:
    """A wall that can be put forward and back, and a clock that nobody sets."""

    def __init__(self) -> None:
        self.running = 0
        self.offset = NOON

    def wall(self) -> int:
        return self.offset + self.running

    def pass_ms(self, ms: int) -> None:
        self.running += ms

    def clock(self, not_before_ms: int | None = None) -> WallClock:
        return WallClock(not_before_ms, self.wall, lambda: self.running)


def test_time_goes_on_with_the_wall() -> None:
    clocks = Clocks()
    clock = clocks.clock()
    clocks.pass_ms(3 * HOUR)
    assert clock.now_ms() == NOON + 3 * HOUR


def test_small_corrections_are_followed_forward_and_waited_out_backward() -> None:
    clocks = Clocks()
    clock = clocks.clock()
    clocks.offset += 2 * MINUTE
    assert clock.now_ms() == NOON + 2 * MINUTE
    clocks.offset -= MINUTE
    assert clock.now_ms() == NOON + 2 * MINUTE
    clocks.pass_ms(2 * MINUTE)
    assert clock.now_ms() == NOON + 4 * MINUTE


def test_a_year_ahead_for_a_moment_is_not_believed() -> None:
    clocks = Clocks()
    clock = clocks.clock()
    clocks.offset += 365 * DAY
    assert clock.now_ms() == NOON
    assert clock.doubted
    clocks.pass_ms(5 * MINUTE)
    clocks.offset -= 365 * DAY
    assert clock.now_ms() == NOON + 5 * MINUTE
    assert not clock.doubted


def test_a_step_that_stands_is_believed() -> None:
    clocks = Clocks()
    clock = clocks.clock()
    clocks.offset += HOUR
    clock.now_ms()
    clocks.pass_ms(10 * MINUTE)
    assert clock.now_ms() == NOON + HOUR + 10 * MINUTE


def test_a_leap_of_a_day_and_more_must_stand_for_an_hour() -> None:
    clocks = Clocks()
    clock = clocks.clock()
    clocks.offset += DAY
    clock.now_ms()
    clocks.pass_ms(59 * MINUTE)
    assert clock.now_ms() == NOON + 59 * MINUTE
    clocks.pass_ms(MINUTE)
    assert clock.now_ms() == NOON + DAY + HOUR


def test_a_step_that_sensors_agree_with_is_believed_at_once() -> None:
    clocks = Clocks()
    clock = clocks.clock()
    clocks.offset += DAY
    clock.now_ms()
    clock.hint(NOON + DAY + 1000)
    assert clock.now_ms() == NOON + DAY


def test_a_machine_that_wakes_with_an_old_clock_goes_on_from_the_journal() -> None:
    clocks = Clocks()
    clocks.offset -= 400 * DAY
    clock = clocks.clock(not_before_ms=NOON)
    clocks.pass_ms(MINUTE)
    assert clock.now_ms() == NOON + MINUTE
    clocks.offset += 400 * DAY  # the network puts it right
    assert clock.now_ms() == NOON + MINUTE


def test_a_wall_that_was_put_back_an_hour_is_never_followed_back() -> None:
    clocks = Clocks()
    clock = clocks.clock()
    clocks.pass_ms(HOUR)
    before = clock.now_ms()
    clocks.offset -= HOUR
    told = []
    for _ in range(200):
        clocks.pass_ms(MINUTE)
        told.append(clock.now_ms())
    assert told == sorted(told)
    assert told[0] >= before
    assert told[-1] == before + 200 * MINUTE
