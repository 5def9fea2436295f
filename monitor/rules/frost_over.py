"""What the frost rule says while an alert waits out its off-delay: what is so now, and that what was told is over."""

from monitor.model.finding import Figure, Finding
from monitor.model.reading import Seen
from monitor.model.scale import Sure
from monitor.rules.frost_grade import error_k
from monitor.rules.frost_things import Freezable
from monitor.rules.last_word import LastWord, last_word


def note_said(told: dict[str, LastWord], finding: Finding) -> None:
    """Keep what is needed of what is told now, to say of it later that it is over."""
    before, word = told.get(finding.subject), last_word(finding)
    word.latches = word.latches or (before is not None and before.ended_ms is None and before.latches)
    told[finding.subject] = word


def over(
    told: dict[str, LastWord], thing: Freezable, last: Seen | None, freeze_degc: float | None, now_ms: int
) -> Finding | None:
    """Say of what was told last that it is over, for as long as its alert waits; None where nothing waits."""
    word = told.get(thing.subject)
    if word is None:
        return None
    if not word.waits(now_ms):
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
