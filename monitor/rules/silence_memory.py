"""What the silence rule keeps of each sensor, and how a reading goes into it."""

from dataclasses import dataclass, field

from monitor.model.quantity import SPANS, Quantity
from monitor.model.reading import Reading
from monitor.model.scale import Flag
from monitor.rules.cadence import Cadence, hear, usual_gap_ms
from monitor.rules.silence_frost import Outside
from monitor.rules.silence_limits import LIMITS
from monitor.rules.silence_pairs import Places


@dataclass(slots=True)
class Jump:
    """Volts that jumped as no bank does: when, from what and to what."""

    at_ms: int
    from_v: float
    to_v: float


@dataclass(slots=True)
class Cell:
    """A sensor's own cell: its best so far, how many readings in a row were low, and whether it is held to be low."""

    best_v: float = 0.0
    run: int = 0
    low: bool = False


@dataclass(slots=True)
class Back:
    """What was silent and is heard again.

    Attributes:
        last_ms: its last word before, None where it had never been heard.
        told_ms: when it was first told that it is heard again, None before.
    """

    last_ms: int | None
    told_ms: int | None = None

    def is_told_at(self, now_ms: int, for_ms: int) -> bool:
        """Note the first telling, and say whether it is still to be told."""
        if self.told_ms is None:
            self.told_ms = now_ms
        return now_ms < self.told_ms + for_ms


@dataclass(slots=True)
class Heard:
    """One sensor as it was last heard.

    Attributes:
        since_ms: from when it was expected: the first time that was judged with it in the record.
        cadence: when it last spoke, and how often it does.
        value: what it said last.
        flagged_ms: time of the last reading whose flag was counted.
        same: how many readings in a row were suspect and said the same.
        same_from_ms: time of the first of them.
        failing: weight of failed readings: each adds two, each other one takes one away.
        failing_from_ms: time of the first of them.
        doubt: weight of suspect readings that are not the same again, counted alike.
        doubt_from_ms: time of the first of them.
        stuck: whether it is held to be stuck.
        fails: whether it is held to be failing.
        doubtful: whether it is held to be doubtful.
        silent: whether it is held to be silent: until it is heard.
        back: that it is heard again, while it is told.
        holes: how many holes its cadence has had, for the page.
        hole_from_ms: where the last one began.
        hole_to_ms: where it ended.
        clock_faults: how many of its readings stated a time that cannot be, for the page.
        late: how many came after a newer one, for the page.
        jump: where the volts of a bank jumped.
        cell: what is known of the cell it measures, where it measures one.
    """

    since_ms: int
    cadence: Cadence = field(default_factory=Cadence)
    value: float | None = None
    flagged_ms: int = 0
    same: int = 0
    same_from_ms: int = 0
    failing: int = 0
    failing_from_ms: int = 0
    doubt: int = 0
    doubt_from_ms: int = 0
    stuck: bool = False
    fails: bool = False
    doubtful: bool = False
    silent: bool = False
    back: Back | None = None
    holes: int = 0
    hole_from_ms: int | None = None
    hole_to_ms: int | None = None
    clock_faults: int = 0
    late: int = 0
    jump: Jump | None = None
    cell: Cell | None = None

    @property
    def is_told_of(self) -> bool:
        """Whether there is, or may be, something to tell of it beside its silence."""
        low = self.cell is not None and self.cell.low
        return self.stuck or self.fails or self.doubtful or self.jump is not None or low or self.back is not None


@dataclass(slots=True)
class SilenceState:
    """What the rule keeps.

    Attributes:
        first_ms: the first time anything of this vessel was judged or heard.
        came_ms: when the first word of any of her sensors came in: a new boat's backlog is read sensor by sensor, and
            no sensor is silent for what lies before.
        newest_ms: the newest time any of her sensors was heard, None before the first.
        deaf_to_ms: until when the agent itself was deaf.
        gateway_from_ms: since when the whole vessel is held to be silent, None while she is heard.
        gateway_back: that she is heard again, while it is told.
        sensors: what is known of each sensor of the record.
        outside: outside air as it was last heard.
        places: thermometers that share a place.
        silent_from_ms: the newest word of any sensor from which on another one might count as silent beside it.
    """

    first_ms: int | None = None
    came_ms: int = 0
    newest_ms: int | None = None
    deaf_to_ms: int = 0
    gateway_from_ms: int | None = None
    gateway_back: Back | None = None
    sensors: dict[str, Heard] = field(default_factory=dict)
    outside: Outside = field(default_factory=Outside)
    places: Places = field(default_factory=Places)
    silent_from_ms: int = 0


def note_time(heard: Heard, at_ms: int, recorded_ms: float, deaf_to_ms: int, *, learns: bool) -> None:
    """Take the time of a reading: it speaks again, and what it skipped is a hole.

    Args:
        heard: the sensor; updated.
        at_ms: event time of the reading.
        recorded_ms: its recorded interval.
        deaf_to_ms: until when the agent was deaf: that much of a gap is not the sensor's.
        learns: whether its gaps teach its cadence.
    """
    cadence = heard.cadence
    if heard.silent:
        heard.silent, heard.back = False, Back(cadence.last_ms)
    last, usual = cadence.last_ms, cadence.usual_ms or recorded_ms
    gap = hear(cadence, at_ms, recorded_ms, learns=learns)
    if gap > _HOLE * usual and last is not None and at_ms - max(last, deaf_to_ms) > _HOLE * usual:
        heard.holes = min(heard.holes + 1, MOST_COUNTED)
        heard.hole_from_ms, heard.hole_to_ms = last, at_ms


def note_quality(heard: Heard, reading: Reading) -> bool:
    """Take the flag of a reading, once: what keeps saying the same suspect value is stuck, what keeps failing fails.

    Args:
        heard: the sensor; updated.
        reading: the reading. One whose flag has not settled says nothing yet.

    Returns:
        Whether its flag was taken.
    """
    at = reading.event_ms
    if reading.flag is Flag.NOT_EVALUATED or at <= heard.flagged_ms:
        return False
    heard.flagged_ms = at
    if reading.flag is Flag.PASS and not (heard.failing or heard.doubt or heard.same):
        heard.value = reading.value  # nothing is counted against it, and nothing is held
        heard.fails = heard.doubtful = heard.stuck = False
        return True
    failed, suspect = reading.flag is Flag.FAIL, reading.flag is Flag.SUSPECT
    if failed or heard.failing:
        heard.failing, heard.failing_from_ms = _weigh(heard.failing, heard.failing_from_ms, at, _FAILING_AT, bad=failed)
    again = suspect and heard.same > 0 and reading.value == heard.value
    if (suspect or heard.doubt) and not again:
        heard.doubt, heard.doubt_from_ms = _weigh(heard.doubt, heard.doubt_from_ms, at, _DOUBTFUL_AT, bad=suspect)
    heard.fails = heard.failing >= _FAILING_AT or (heard.fails and heard.failing > 0)
    heard.doubtful = heard.doubt >= _DOUBTFUL_AT or (heard.doubtful and heard.doubt > 0)
    if not suspect:
        heard.same, heard.stuck = 0, False
    elif again:
        heard.same = min(heard.same + 1, _STUCK_AFTER)
    else:
        heard.same, heard.same_from_ms = 1, at
    heard.value = reading.value
    heard.stuck = heard.stuck or heard.same >= _STUCK_AFTER
    return True


def note_jump(heard: Heard, before_v: float | None, before_ms: int, reading: Reading, nominal_v: float) -> None:
    """Take the volts of a bank: a step of half its nominal or more is another bank, or another sensor.

    Args:
        heard: the sensor; updated.
        before_v: what it said before, None where nothing.
        before_ms: when.
        reading: what it says now, not failed.
        nominal_v: the bank's nominal volts.
    """
    at, volts, jump = reading.event_ms, reading.value, heard.jump
    if jump is not None and abs(volts - jump.from_v) <= LIMITS["jump_back"] * nominal_v:
        heard.jump = None
    elif (
        before_v is not None
        and LIMITS["jump_off"] * nominal_v <= min(before_v, volts) <= max(before_v, volts) <= _MOST_V
    ):
        near = at - before_ms <= LIMITS["jump_within"] * usual_gap_ms(heard.cadence, float(at - before_ms))
        if near and abs(volts - before_v) >= LIMITS["jump"] * nominal_v:
            heard.jump = Jump(at, before_v, volts)


def note_cell(heard: Heard, before_v: float | None, volts: float) -> None:
    """Take the volts of a sensor's own cell, and hold them against its own best: so its kind need not be known.

    Args:
        heard: the sensor; updated.
        before_v: what it said before, None where nothing.
        volts: what it says now, believable.
    """
    cell = heard.cell
    if cell is None:
        cell = heard.cell = Cell()
    if before_v is not None:
        cell.best_v = max(cell.best_v, min(before_v, volts))  # one glitch is no best
    if volts < cell_limit_v(cell):
        cell.run += 1
        cell.low = cell.low or cell.run >= LIMITS["cell_readings"]
    else:
        cell.run = 0
        cell.low = cell.low and volts < LIMITS["cell_good"] * cell.best_v


def cell_limit_v(cell: Cell) -> float:
    """Give the volts under which a cell is low."""
    return max(LIMITS["cell_low"] * cell.best_v, LIMITS["cell_least"])


def _weigh(weight: int, from_ms: int, at_ms: int, limit: int, *, bad: bool) -> tuple[int, int]:
    """Count a bad reading twice and a good one back once, and keep since when."""
    if not bad:
        return weight - 1, from_ms
    return min(weight + 2, 2 * limit), from_ms if weight else at_ms


MOST_COUNTED = 9_999
_MOST_V = SPANS[Quantity.VOLTAGE].high
_HOLE, _STUCK_AFTER = LIMITS["hole"], int(LIMITS["stuck_after"])
_FAILING_AT, _DOUBTFUL_AT = int(LIMITS["failing_at"]), int(LIMITS["doubtful_at"])
