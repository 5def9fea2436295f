"""What the battery rule says while an alert waits out its off-delay: its volts now, and that what was told is over."""

from monitor.model.finding import Figure, Finding
from monitor.model.scale import Sure
from monitor.rules.battery_bank import Bank, Moment, Plan
from monitor.rules.battery_say import say
from monitor.rules.last_word import last_word

_FIRST = {
    "charger lost": ("find_why_stopped",),
    "overcharge": ("look_before_charge",),
    "hot": ("look_before_charge",),
    "no volts": ("measure_own_posts",),
}
_NEVER = {"overcharge": ("no_sparks", "no_leaning_over"), "hot": ("no_sparks", "no_leaning_over")}


def note_said(bank: Bank, finding: Finding) -> None:
    """Keep what is needed of what is told now, to say of it later that it is over."""
    bank.told = last_word(finding)


def gone(bank: Bank, plan: Plan, moment: Moment) -> Finding | None:
    """Say of what was told last that it is over, for as long as its alert waits; None where nothing waits."""
    told = bank.told
    if told is None:
        return None
    if not told.waits(moment.now_ms):
        bank.told = None
        return None
    outlook = bank.outlook
    return say(
        bank,
        plan,
        moment,
        kind=told.kind,
        priority=told.priority,
        figure=Figure(round(bank.volts, 2), None, "V"),
        sure=Sure.LIKELY,
        causes=(),
        first=_FIRST.get(told.kind, ("find_what_drew",)),
        never=_NEVER.get(told.kind, ("no_closed_locker",)),
        facts={
            "over_ms": told.ended_ms,
            "ends_at": told.ends_ms,
            "volts_ms": bank.at_ms,
            "rests": outlook is not None,
        },
        on_delay_ms=told.on_ms,
        off_delay_ms=told.off_ms,
        over=True,
    )


def gone_at(bank: Bank) -> int | None:
    """Give when what is over has been told for long enough, None where nothing is."""
    told = bank.told
    return None if told is None else told.ends_ms
