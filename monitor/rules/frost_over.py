"""What the frost rule says while an alert waits out its off-delay: what is so now, and that what was told is over."""

from dataclasses import dataclass

from monitor.model.finding import Figure, Finding
from monitor.model.reading import Seen
from monitor.model.scale import Priority, Sure
from monitor.rules.frost_grade import error_k
from monitor.rules.frost_things import Freezable


@dataclass(slots=True)
class LastWord:
    """What was told of a thing last.

    Attributes:
        kind, priority, on_ms, off_ms: the finding's kind, its priority and its delays.
        latches: whether somebody has to look at it, though it is over.
        ended_ms: when it was no longer so, None while it is.
    """

    kind: str
    priority: Priority
    on_ms: int
    off_ms: int
    latches: bool = False
    ended_ms: int | None = None

    @property
    def ends_ms(self) -> int | None:
        """When it has been over for long enough, None while it is not over."""
        return None if self.ended_ms is None else self.ended_ms + self.off_ms


def note_said(told: dict[str, LastWord], finding: Finding) -> None:
    """Keep what is needed of what is told now, to say of it later that it is over."""
    before = told.get(finding.subject)
    latches = finding.latches or (before is not None and before.ended_ms is None and before.latches)
    told[finding.subject] = LastWord(finding.kind, finding.priority, finding.on_delay_ms, finding.off_delay_ms, latches)


def over(
    told: dict[str, LastWord], thing: Freezable, last: Seen | None, freeze_degc: float | None, now_ms: int
) -> Finding | None:
    """Say of what was told last that it is over, for as long as its alert waits; None where nothing waits."""
    word = told.get(thing.subject)
    if word is None:
        return None
    if word.ended_ms is None:
        word.ended_ms = now_ms
    if now_ms >= word.ended_ms + word.off_ms:
        del told[thing.subject]
        return None
    return _over(word, thing, last, freeze_degc)


def _over(word: LastWord, thing: Freezable, last: Seen | None, freeze_degc: float | None) -> Finding:
    degc = None if last is None else round(last.value, 1)
    point = None if freeze_degc is None else round(freeze_degc, 1)
    spare_k = None if last is None or freeze_degc is None else round(last.value - freeze_degc - error_k(thing), 1)
    looks = ("look_at_case",) if thing.battery is not None else ("look_for_splits", "watch_bilge")
    return Finding(
        rule="frost",
        subject=thing.subject,
        kind=word.kind,
        priority=word.priority,
        figure=Figure(degc, point, "degC"),
        harm=None,
        sure=Sure.LIKELY if thing.own_probe else Sure.POSSIBLE,
        causes=(),
        first=(*(looks if word.latches else ()), "before_next_frost"),
        never=thing.advice.never_thawed if word.latches else (),
        rests_on=() if last is None else (last,),
        facts={
            "name": thing.name,
            "how": thing.how,
            "over_ms": word.ended_ms,
            "ends_at": word.ends_ms,
            "t_degc": degc,
            "t_ms": None if last is None else last.at_ms,
            "protected_to_degc": point,
            "margin_k": spare_k,
        },
        on_delay_ms=word.on_ms,
        off_delay_ms=word.off_ms,
        latches=word.latches,
        over=True,
    )
