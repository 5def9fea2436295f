"""Which alerts were right: a cause or a harm stands behind them. The others cried wolf."""

from collections.abc import Iterable
from dataclasses import dataclass

from monitor.model.scale import Priority
from simulator.score.case import DAY_MS
from simulator.score.episodes import Stretch
from simulator.truth import Cause, Harm, HarmKind, TruthLog

AGAIN_MS = DAY_MS
"""An alert that comes back so soon after it opened is the same one to whoever is told."""

AFTER_MS = 3 * DAY_MS
"""For so long after a harm is over it may still be told of: a thaw is watched for 72 hours."""


@dataclass(frozen=True, slots=True)
class Telling:
    """Which alerts a harm makes right.

    Attributes:
        rules: the rules that may tell of it, on its own subject.
        ahead_ms: how long before it begins.
    """

    rules: tuple[str, ...]
    ahead_ms: int


# Frost is foretold up to the end of the next working day, which lies four days off over a long weekend. Water and
# batteries go on for weeks before they do harm; all invented.
TELLINGS = {
    HarmKind.FREEZES: Telling(("frost",), 5 * DAY_MS),
    HarmKind.FROZEN: Telling(("frost",), 5 * DAY_MS),
    HarmKind.STARTER: Telling(("bilge",), 30 * DAY_MS),
    HarmKind.TERMINALS: Telling(("bilge",), 30 * DAY_MS),
    HarmKind.SOLE: Telling(("bilge",), 30 * DAY_MS),
    HarmKind.WANTS_CHARGE: Telling(("battery",), 30 * DAY_MS),
    HarmKind.HALF: Telling(("battery",), 60 * DAY_MS),
    HarmKind.NO_PUMP: Telling(("battery",), 60 * DAY_MS),
    HarmKind.BATTERY_FROZEN: Telling(("battery", "frost"), 30 * DAY_MS),
    HarmKind.MOULD: Telling(("damp",), 30 * DAY_MS),
    HarmKind.NOT_HEARD: Telling(("silence",), 0),
}


@dataclass(frozen=True, slots=True)
class Opening:
    """An alert that opened, with what it was reopened for within a day of its clearing.

    Attributes:
        said: the message it came in: its rule and subject, or what several subjects were told of in.
        first: what was told when it opened; several where one message told of several subjects.
        from_ms: when it opened, ms UTC.
        to_ms: when it last cleared.
    """

    said: str
    first: tuple[Stretch, ...]
    from_ms: int
    to_ms: int


def openings_of(stretches: Iterable[Stretch], level: Priority) -> list[Opening]:
    """Give the openings at a level, in the order of their times."""
    by_message: dict[str, list[Stretch]] = {}
    for stretch in sorted((s for s in stretches if s.priority is level), key=lambda s: s.from_ms):
        by_message.setdefault(stretch.said or f"{stretch.rule}/{stretch.subject}", []).append(stretch)
    found = []
    for said, ordered in by_message.items():
        first: list[Stretch] = []
        to_ms = 0
        for stretch in ordered:
            if first and stretch.from_ms >= max(to_ms, first[0].from_ms + AGAIN_MS):
                found.append(Opening(said, tuple(first), first[0].from_ms, to_ms))
                first = []
            if not first or stretch.from_ms == first[0].from_ms:
                first.append(stretch)
            to_ms = max(to_ms, stretch.to_ms)
        found.append(Opening(said, tuple(first), first[0].from_ms, to_ms))
    return sorted(found, key=lambda o: (o.from_ms, o.said))


def is_right(opening: Opening, log: TruthLog, vessel: str) -> bool:
    """Whether a cause or a harm stood behind an alert when it opened.

    An alert that opened before its cause began was not right then, and is not made so by what came later.
    """
    causes = [c for c in log.causes if c.vessel == vessel]
    harms = [h for h in log.harms if h.vessel == vessel]
    return any(
        any(_by_cause(stretch, c) for c in causes) or any(_by_harm(stretch, h) for h in harms)
        for stretch in opening.first
    )


def _by_cause(stretch: Stretch, cause: Cause) -> bool:
    if stretch.from_ms < cause.begins_ms:
        return False
    if cause.ends_ms is not None and stretch.from_ms > cause.ends_ms + cause.traces_ms:
        return False
    return any(
        e.rule == stretch.rule and e.subject in {None, stretch.subject} and e.most >= stretch.priority
        for e in cause.explains
    )


def _by_harm(stretch: Stretch, harm: Harm) -> bool:
    telling = TELLINGS[harm.kind]
    # A boat that is not heard is not heard by any of her sensors.
    same = stretch.subject == harm.subject or harm.kind is HarmKind.NOT_HEARD
    if not same or stretch.rule not in telling.rules or stretch.from_ms < harm.at_ms - telling.ahead_ms:
        return False
    return harm.ended_ms is None or stretch.from_ms <= harm.ended_ms + AFTER_MS
