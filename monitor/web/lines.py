"""One vessel on the yard page: how she stands, in one sentence, and what is beside it."""

import re
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import lru_cache
from math import inf

from monitor.messages.words import title_of
from monitor.model.alert import Alert
from monitor.model.finding import Finding
from monitor.model.inputs import Suppress
from monitor.model.scale import Priority
from monitor.model.vessel import Mode, Vessel
from monitor.model.views import VesselNow
from monitor.record.commission import watch_state
from monitor.record.commission_says import short_words
from monitor.web.call_having import holder
from monitor.web.clock import YardClock
from monitor.web.ranks import Rank, rank_of, urgency, waits_for_visit

# The silence rule speaks first, after an hour afloat and twelve ashore. This stands behind it: whatever the rules say
# or fail to say, a vessel that has not been heard for so long is not called quiet.
UNHEARD_AFLOAT_MS = 2 * 3_600_000
UNHEARD_ASHORE_MS = 13 * 3_600_000
UNHEARD_INTERVALS = 4

# What cannot be known because of how she was left on purpose is said on her page, and is no missing data.
ON_PURPOSE = frozenset({"bung out"})

# A yard's rows have letters; where a place begins with a word, it reads better as a name.
SHORT = 3
_LEADING = re.compile(r"[^\W\d_]+")

Titled = Callable[[Finding, Vessel, YardClock], str]
"""Gives the title of a finding about a vessel."""
Unproved = Callable[[Vessel], str]
"""Says what is not proved of a vessel, or that nobody took her watch on; empty where she is watched."""


@dataclass(frozen=True, slots=True)
class Line:
    """One vessel's line.

    Attributes:
        vessel: her record.
        rank: how she stands.
        sentence: what is worst and since when, or that nothing needs doing.
        more: how many other alerts are open.
        alerted: whether the sentence is an alert's.
        seen_by: who acknowledged the worst, empty where nobody has or there is nothing to.
        seen_ms: when.
        heard_ms: when she was last heard.
        aside: how many of her alerts are put aside; they are in none of the above.
        aboard: what is being done aboard now, None where nothing.
        order: sorts lines as text, worst first.
        area: the row ashore or the pontoon where she lies, as `area_of` gives it.
        having: who has alerts of hers.
        is_free: whether nobody has one of her alerts.
    """

    vessel: Vessel
    rank: Rank
    sentence: str
    more: int
    alerted: bool
    seen_by: str
    seen_ms: int | None
    heard_ms: int | None
    aside: int
    aboard: Suppress | None
    order: str
    area: str = ""
    having: tuple[str, ...] = ()
    is_free: bool = False


def titled_afresh(finding: Finding, vessel: Vessel, clock: YardClock) -> str:
    """Give the title of a finding, put into words now."""
    return title_of(finding, vessel, clock.zone, clock.now_ms)


def unproved_afresh(vessel: Vessel) -> str:
    """Say what is not proved of a vessel, by her record as it stands."""
    return short_words(vessel, watch_state(vessel))


def line_for(
    now: VesselNow,
    clock: YardClock,
    *,
    deaf: bool,
    titled: Titled = titled_afresh,
    unproved: Unproved = unproved_afresh,
) -> Line:
    """Make a vessel's line.

    Args:
        now: how she stands.
        clock: the yard's clock.
        deaf: whether the watch itself hears nothing now, and can promise nothing.
        titled: gives titles.
        unproved: says what is not proved.
    """
    vessel = now.stored.vessel
    alerts = sorted((a for a in now.alerts if not a.state.is_aside), key=urgency)
    worst = alerts[0] if alerts else None
    hands = [holder(alert) for alert in alerts]
    rank = Rank.QUIET if worst is None else rank_of(worst)
    more = max(len(alerts) - 1, 0)
    missing = missing_data(now, clock, titled, unproved) if rank > Rank.NO_DATA else None
    if missing is not None:
        rank, text, worst, more = Rank.NO_DATA, missing, None, len(alerts)
    elif worst is not None:
        text = alert_sentence(worst, vessel, clock, titled)
    else:
        text = quiet_sentence(now, clock, deaf=deaf)
    return Line(
        vessel=vessel,
        rank=rank,
        sentence=text.rstrip("."),
        more=more,
        alerted=worst is not None,
        seen_by="" if worst is None or worst.acknowledged_by is None else worst.acknowledged_by,
        seen_ms=None if worst is None else worst.acknowledged_ms,
        heard_ms=now.heard_ms,
        aside=len(now.alerts) - len(alerts),
        aboard=under_way(now, clock),
        order=_order(rank, worst, vessel),
        area=area_of(vessel),
        having=tuple(dict.fromkeys(name for name in hands if name is not None)) if hands else (),
        is_free=None in hands,
    )


def area_of(vessel: Vessel) -> str:
    """Give the part of the yard where she lies: the leading letters of her plot or berth; empty where it has none."""
    return _area("pontoon", vessel.berth) if vessel.berth else _area("row", vessel.plot or "")


@lru_cache(maxsize=16_384)
def _area(kind: str, place: str) -> str:
    """Give the part of the yard of a place: kept, since a line is made anew whenever its boat is heard."""
    found = _LEADING.match(place.strip())
    return "" if found is None else f"{kind}-{found[0].upper() if len(found[0]) <= SHORT else found[0].capitalize()}"


def alert_sentence(alert: Alert, vessel: Vessel, clock: YardClock, titled: Titled) -> str:
    """Say what is wrong and since when; the word beside it says the rest."""
    title = titled(alert.finding, vessel, clock)
    if alert.returned_ms is not None:
        cleared = f"{title}, cleared {clock.at(alert.returned_ms)}"
        return f"{cleared}; somebody must go aboard" if waits_for_visit(alert) else cleared
    return f"{title} (open since {clock.at(alert.opened_ms)})"


def missing_data(now: VesselNow, clock: YardClock, titled: Titled, unproved: Unproved = unproved_afresh) -> str | None:
    """Say what keeps a vessel from being called quiet though no alert is open, None where nothing does."""
    vessel = now.stored.vessel
    if not vessel.sensors:
        return "No sensors aboard: nothing here is watched"
    said = _not_heard(now, clock) or unproved(vessel)
    if said:
        return said
    missing = [finding for finding in now.not_known if finding.kind not in ON_PURPOSE]
    if missing:
        first = titled(missing[0], vessel, clock)
        more = len(missing) - 1
        return first + (f", and {more} more" if more else "")
    return None


def _not_heard(now: VesselNow, clock: YardClock) -> str:
    """Say that she, or some of her, is not heard; empty where all of her is."""
    if now.heard_ms is None:
        return "Not heard yet: no sensor of hers has sent anything"
    if clock.now_ms - now.heard_ms > unheard_after_ms(now.stored.vessel):
        return f"Not heard since {clock.at(now.heard_ms)}"
    if now.unheard:
        more = len(now.unheard) - 1
        return f"Not heard yet: {now.unheard[0]}" + (f", and {more} more" if more else "")
    return ""


def unheard_after_ms(vessel: Vessel) -> int:
    """Give how long a vessel may be unheard before her line says so."""
    shortest = inf
    for sensor in vessel.sensors:
        if sensor.interval_s < shortest and not sensor.quantity.is_switch:
            shortest = sensor.interval_s
    intervals_ms = 0 if shortest == inf else round(UNHEARD_INTERVALS * shortest * 1000)
    return max(UNHEARD_ASHORE_MS if vessel.mode.is_ashore else UNHEARD_AFLOAT_MS, intervals_ms)


def quiet_sentence(now: VesselNow, clock: YardClock, *, deaf: bool) -> str:
    """Say that nothing needs doing, and when that was last known."""
    heard = "never" if now.heard_ms is None else clock.at(now.heard_ms)
    if deaf:
        return f"Nothing was amiss when last heard, {heard}"
    put_aside = any(alert.state.is_aside for alert in now.alerts)
    # Who was left in a mode in which people are about is not watched as whoever lies still is: it must be seen here.
    mode = now.stored.vessel.mode
    partly = (
        "" if mode.is_laid_up or mode is Mode.FIRST_24_H_AFLOAT else f"; by her record {mode}, so not all is watched"
    )
    return f"Nothing {'else ' if put_aside else ''}needs doing; heard {heard}{partly}"


def under_way(now: VesselNow, clock: YardClock) -> Suppress | None:
    """Give what is being done aboard now, None where nothing is or its time has run out."""
    return now.aboard if now.aboard is not None and now.aboard.until_ms > clock.now_ms else None


def counts(lines: Iterable[Line]) -> dict[Rank, int]:
    """Count vessels by how they stand, every rank named."""
    counted = Counter(line.rank for line in lines)
    return {rank: counted[rank] for rank in Rank}


def _order(rank: Rank, worst: Alert | None, vessel: Vessel) -> str:
    if worst is None:
        return f"{rank:d}~{vessel.name.casefold()}~{vessel.id}"
    # Of boats whose worst presses alike, those that nobody has seen yet come first.
    _, (priority, silence, dry, harm_s), seen, opened_ms, _ = urgency(worst)
    pressing = f"{priority + max(Priority):d}{silence:d}{dry:d}{seen:d}{min(harm_s, 9e9):011.0f}"
    return f"{rank:d}!{pressing}{opened_ms:014d}~{vessel.id}"
