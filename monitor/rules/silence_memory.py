"""What the silence rule keeps of each sensor, and how a reading goes into it."""

from dataclasses import dataclass, field

from monitor.model.reading import Reading
from monitor.model.scale import Flag
from monitor.rules.cadence import Cadence, hear


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
        stuck: whether it is held to be stuck.
        fails: whether it is held to be failing.
        silent: whether it is held to be silent: until it is heard.
        holes: how many holes its cadence has had, for the page.
        hole_from_ms: where the last one began.
        hole_to_ms: where it ended.
    """

    since_ms: int
    cadence: Cadence = field(default_factory=Cadence)
    value: float | None = None
    flagged_ms: int = 0
    same: int = 0
    same_from_ms: int = 0
    failing: int = 0
    failing_from_ms: int = 0
    stuck: bool = False
    fails: bool = False
    silent: bool = False
    holes: int = 0
    hole_from_ms: int | None = None
    hole_to_ms: int | None = None


@dataclass(slots=True)
class SilenceState:
    """What the rule keeps.

    Attributes:
        first_ms: the first time anything of this vessel was judged or heard.
        newest_ms: the newest time any of her sensors was heard, None before the first.
        deaf_to_ms: until when the agent itself was deaf.
        gateway_from_ms: since when the whole vessel is held to be silent, None while she is heard.
        sensors: what is known of each sensor of the record.
    """

    first_ms: int | None = None
    newest_ms: int | None = None
    deaf_to_ms: int = 0
    gateway_from_ms: int | None = None
    sensors: dict[str, Heard] = field(default_factory=dict)


def note_time(heard: Heard, at_ms: int, recorded_ms: float, deaf_to_ms: int, hole: float, *, learns: bool) -> None:
    """Take the time of a reading: it speaks again, and what it skipped is a hole.

    Args:
        heard: the sensor; updated.
        at_ms: event time of the reading.
        recorded_ms: its recorded interval.
        deaf_to_ms: until when the agent was deaf: that much of a gap is not the sensor's.
        hole: how many usual gaps make a hole.
        learns: whether its gaps teach its cadence.
    """
    heard.silent = False
    last, usual = heard.cadence.last_ms, heard.cadence.usual_ms or recorded_ms
    gap = hear(heard.cadence, at_ms, recorded_ms, learns=learns)
    if last is not None and gap > hole * usual and at_ms - max(last, deaf_to_ms) > hole * usual:
        heard.holes = min(heard.holes + 1, _MOST_HOLES)
        heard.hole_from_ms, heard.hole_to_ms = last, at_ms


def note_quality(heard: Heard, reading: Reading, stuck_after: int, failing_at: int) -> None:
    """Take the flag of a reading, once: what keeps saying the same suspect value is stuck, what keeps failing fails.

    Args:
        heard: the sensor; updated.
        reading: the reading. One whose flag has not settled says nothing yet.
        stuck_after: how many suspect readings of one value in a row make it stuck.
        failing_at: which weight of failed readings makes it fail.
    """
    at = reading.event_ms
    if reading.flag is Flag.NOT_EVALUATED or at <= heard.flagged_ms:
        return
    heard.flagged_ms = at
    _note_failing(heard, at, failed=reading.flag is Flag.FAIL, failing_at=failing_at)
    if reading.flag is not Flag.SUSPECT:
        heard.same, heard.stuck = 0, False
    elif heard.same and reading.value == heard.value:
        heard.same = min(heard.same + 1, stuck_after)
    else:
        heard.same, heard.same_from_ms = 1, at
    heard.value = reading.value
    heard.stuck = heard.stuck or heard.same >= stuck_after


def _note_failing(heard: Heard, at_ms: int, *, failed: bool, failing_at: int) -> None:
    if failed:
        if not heard.failing:
            heard.failing_from_ms = at_ms
        heard.failing = min(heard.failing + 2, 2 * failing_at)
    else:
        heard.failing = max(heard.failing - 1, 0)
    heard.fails = heard.failing >= failing_at or (heard.fails and heard.failing > 0)


_MOST_HOLES = 9_999
