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


def test_a_wrong_hour_that_was_believed_is_caught_up_slowly_once_sensors_agree_with_the_wall() -> None:
    clocks = Clocks()
    clock = clocks.clock()
    clocks.offset += HOUR
    clock.now_ms()
    clocks.pass_ms(10 * MINUTE)
    assert clock.now_ms() == clocks.wall()  # it has stood for ten minutes: believed
    clocks.offset -= HOUR
    told, ahead = [clock.now_ms()], []
    for minute in range(180):
        clocks.pass_ms(MINUTE)
        clock.hint(clocks.wall() - 1000)
        told.append(clock.now_ms())
        ahead.append(told[-1] - clocks.wall())
        assert told[-1] - told[-2] >= MINUTE // 2, f"minute {minute}: it never stands, and never falls"
    assert ahead[0] > 59 * MINUTE
    assert ahead[60] < 31 * MINUTE
    assert ahead[-1] < MINUTE
    assert not clock.doubted


def test_a_wall_that_went_back_and_agrees_with_no_sensor_slows_nothing() -> None:
    clocks = Clocks()
    clock = clocks.clock()
    clocks.offset -= HOUR
    clock.now_ms()
    clock.hint(NOON + HOUR)
    clocks.pass_ms(HOUR)
    assert clock.now_ms() == NOON + HOUR


def test_a_year_that_was_believed_is_not_waited_out_at_half_speed() -> None:
    clocks = Clocks()
    clock = clocks.clock(not_before_ms=NOON + 365 * DAY)
    clock.now_ms()
    clock.hint(NOON)
    clocks.pass_ms(HOUR)
    assert clock.now_ms() == NOON + 365 * DAY + HOUR


def test_what_is_wrong_with_the_wall_is_said_in_words_with_how_far_it_is_off() -> None:
    clocks = Clocks()
    clock = clocks.clock()
    assert clock.trouble is None
    clocks.offset += 365 * DAY
    assert "was put 365 days forward" in (clock.trouble or "")
    clocks.offset -= 365 * DAY
    assert clock.trouble is None
    clocks.offset -= HOUR
    assert "are 60 minutes ahead of the clock" in (clock.trouble or "")


def test_a_year_that_stands_for_hours_is_not_believed_while_a_sensor_states_another_time() -> None:
    clocks = Clocks()
    clock = clocks.clock()
    clocks.offset += 365 * DAY
    for _ in range(60):
        clocks.pass_ms(5 * MINUTE)
        told = clock.now_ms()
        clock.hint(NOON + clocks.running - 2000)
        assert told == NOON + clocks.running
    clocks.pass_ms(59 * MINUTE)
    assert clock.now_ms() == NOON + clocks.running
    clocks.pass_ms(2 * MINUTE)  # an hour in which nobody says otherwise
    assert clock.now_ms() == clocks.wall()
