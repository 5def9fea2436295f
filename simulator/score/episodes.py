"""What the score asks of the watch: episodes that it ought to have told of in time."""

from dataclasses import dataclass

from monitor.model.scale import Priority


@dataclass(frozen=True, slots=True)
class Episode:
    """One harm or cause that somebody had to be told of.

    It is caught where an alert of one of the keys stood with at least the priority `least`: at `due_ms`, where there is
    one, else at any time from `begins_ms` to `until_ms`.

    Attributes:
        row: name of the score's row that it counts in.
        vessel: vessel id.
        keys: (rule, subject) pairs of the alerts that tell of it.
        begins_ms: what its delay is measured from: the cause, or a mark on its way, ms UTC.
        due_ms: when harm begins, None where it is judged by the delay alone.
        until_ms: the last time at which telling it still counts.
        least: the priority that counts.
        target_s: how soon it should be told: for an episode with `due_ms` the least warning time, else the longest
            delay; None where nothing is promised.
        due_notice_ms: the working day's notice time before the harm, by which it should be told where there is a
            forecast; None otherwise.
        from_cause: whether it begins with its cause, so that what stood before tells of something else.
    """

    row: str
    vessel: str
    keys: tuple[tuple[str, str], ...]
    begins_ms: int
    due_ms: int | None
    until_ms: int
    least: Priority = Priority.WARNING
    target_s: float | None = None
    due_notice_ms: int | None = None
    from_cause: bool = False


@dataclass(frozen=True, slots=True)
class Stretch:
    """A time for which an alert stood at one priority or above.

    Attributes:
        rule: the rule.
        subject: its subject.
        priority: the priority.
        from_ms: since when, ms UTC.
        to_ms: until when; the end of the winter where it still stood.
        said: names the one message that several subjects were told of in, so that it is counted once; empty where
            every subject was told of by itself.
    """

    rule: str
    subject: str
    priority: Priority
    from_ms: int
    to_ms: int
    said: str = ""
