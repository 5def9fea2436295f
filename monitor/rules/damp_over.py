"""What the damp rule says while an alert waits out its off-delay: the air now, and that what was told is over."""

from dataclasses import replace

from monitor.model.finding import Figure, Finding
from monitor.model.scale import Sure
from monitor.rules.damp_findings import DEHUMIDIFIER, Air, rh_pct, say
from monitor.rules.last_word import LastWord, last_word

_FIRST = {
    "dehumidifier stopped": ("check_dehumidifier", "empty_tank"),
    "humid": ("close_hatches",),
    "heat without drying": ("open_vents",),
    "mould": ("look_for_mould", "open_vents"),
    "condensation": ("open_vents", "find_water"),
}

Told = dict[str, LastWord]
"""What was told last, by subject, until its alert has had time to clear."""


def note_said(told: Told, findings: list[Finding]) -> None:
    """Keep what is needed of what is told now, to say of it later that it is over; what is not known ends nothing."""
    for finding in findings:
        if finding.sure is not Sure.NOT_KNOWN:
            told[finding.subject] = last_word(finding)


def over(told: Told, subject: str, air: Air, now_ms: int) -> Finding | None:
    """Say of what was told last that it is over, for as long as its alert waits; None where nothing waits."""
    word = told.get(subject)
    if word is None:
        return None
    if not word.waits(now_ms):
        del told[subject]
        return None
    finding = say(
        air,
        subject,
        kind=word.kind,
        priority=word.priority,
        figure=Figure(rh_pct(air), None, "%"),
        sure=Sure.LIKELY,
        causes=(),
        first=_FIRST[word.kind],
        never=(),
        facts={"over_ms": word.ended_ms, "ends_at": word.ends_ms, "heard": air.heard},
    )
    return replace(finding, over=True)


def subjects(air: Air, *, dried: bool) -> tuple[str, ...]:
    """Give what is told of a space: the space, and the dehumidifier where it is that one's."""
    return (air.space.id, *((DEHUMIDIFIER,) if dried else ()))
