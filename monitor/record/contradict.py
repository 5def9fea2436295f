"""Where what a visit says it found cannot be so: held against what was read by hand, and against alerts in force."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from monitor.model.alert import Alert
from monitor.model.scale import Priority
from monitor.model.vessel import Vessel
from monitor.model.visit import Found, Read

BILGE = "bilge"
VOLTS_UNIT = "V"


class Odd(StrEnum):
    """What speaks against what was found."""

    MARK = "mark"
    """A dip at or over the high mark of its bilge."""
    LOW = "low"
    """Volts below what an alert in force was told for."""
    OVER = "over"
    """Volts above what an alert in force was told for."""
    STANDS = "stands"
    """An alert in force of which nothing is said."""
    AS_TOLD = "as told"
    """An alert in force that is said to be as told, where all is well."""
    DENIED = "denied"
    """An alert of which nothing was wrong, where what was read says that it is so."""
    UNSAID = "unsaid"
    """An alert in force of which nothing was wrong, without a word on what was seen."""
    UNTOLD = "untold"
    """Something that nobody told of, without a word on what it was."""
    NOTHING = "nothing"
    """What the alerts said is so, and of each of them nothing was wrong."""


_DOUBTED: dict[Found | None, frozenset[Found]] = {
    Found.AS_TOLD: frozenset({Found.WELL, Found.FALSE_CALL}),
    # Water that no alert told of is a missed event, whatever else was told of.
    Found.NOT_TOLD: frozenset({Found.WELL, Found.FALSE_CALL, Found.AS_TOLD}),
}
"""What cannot have been found, by what a reading says was found instead."""


@dataclass(frozen=True, slots=True)
class Said:
    """What somebody says of a visit.

    Attributes:
        found: what they found.
        read: what they read by hand, by kind and subject.
        nothing_wrong: of the alerts that they looked into, whether they found nothing of it, by alert.
        has_note: whether they wrote anything.
    """

    found: Found
    read: Mapping[tuple[Read, str], float]
    nothing_wrong: Mapping[str, bool]
    has_note: bool


@dataclass(frozen=True, slots=True)
class Contradiction:
    """One thing that speaks against what was found.

    Attributes:
        odd: what kind of thing.
        alert: the alert in force, None where there is none about it.
        at: kind and subject of the reading by hand, None where it is none.
        limit: what the reading is held against, in the reading's unit.
        instead: what may have been found instead, None where what was found can stand.
    """

    odd: Odd
    alert: Alert | None = None
    at: tuple[Read, str] | None = None
    limit: float | None = None
    instead: Found | None = None


def contradictions(said: Said, record: Vessel, alerts: Sequence[Alert]) -> list[Contradiction]:
    """Give all that speaks against what somebody says, in the order of the form.

    Cautions speak against nothing: that a visit is overdue is no longer so once somebody is there.

    Args:
        said: what they say.
        record: her record.
        alerts: her open alerts; those that have cleared or are put aside are not in force.
    """
    in_force = [a for a in alerts if a.returned_ms is None and not a.state.is_aside]
    past = list(_past_marks(said, record, alerts, in_force))
    doubted = [one for one in past if said.found in _DOUBTED[one.instead]]
    return [*doubted, *_of_alerts(said, alerts, in_force, past), *_of_all(said, alerts)]


def needs_words(alert: Alert) -> bool:
    """Say whether nobody may say of an alert that nothing is wrong without a word on what they saw.

    That is so while an alarm or water stands: who was aboard and saw nothing may have looked in the wrong place.
    """
    stands = alert.is_open and alert.returned_ms is None
    return stands and (alert.priority is Priority.ALARM or alert.finding.always_told)


def _past_marks(
    said: Said, record: Vessel, alerts: Sequence[Alert], in_force: Sequence[Alert]
) -> Iterator[Contradiction]:
    """Give the readings that are as bad as an alert says, or past the record's own mark."""
    for bilge in record.bilges:
        key = (Read.DIP, bilge.id)
        if said.read.get(key, 0.0) >= bilge.high_m:
            # One that has cleared told of water too.
            told = next((a for a in alerts if a.rule == BILGE and a.subject == bilge.id), None)
            yield Contradiction(Odd.MARK, told, key, bilge.high_m, _instead(told))
    for alert in in_force:
        key, figure = (Read.VOLTS, alert.subject), alert.finding.figure
        volts = said.read.get(key)
        if volts is None or figure.unit != VOLTS_UNIT or figure.value is None or figure.limit is None:
            continue
        if figure.value < figure.limit and volts < figure.limit:
            yield Contradiction(Odd.LOW, alert, key, figure.limit, Found.AS_TOLD)
        elif figure.value > figure.limit and volts > figure.limit:
            yield Contradiction(Odd.OVER, alert, key, figure.limit, Found.AS_TOLD)


def _of_alerts(
    said: Said, alerts: Sequence[Alert], in_force: Sequence[Alert], past: Sequence[Contradiction]
) -> Iterator[Contradiction]:
    proved = {c.alert.id for c in past if c.alert is not None}
    for alert in alerts:
        nothing_wrong = said.nothing_wrong.get(alert.id)
        if nothing_wrong and alert.id in proved:
            yield Contradiction(Odd.DENIED, alert)
        elif said.found is not Found.WELL or alert not in in_force or alert.priority is Priority.CAUTION:
            continue
        elif nothing_wrong is None:
            yield Contradiction(Odd.STANDS, alert, instead=Found.AS_TOLD)
        elif not nothing_wrong:
            yield Contradiction(Odd.AS_TOLD, alert, instead=Found.AS_TOLD)
        elif not said.has_note:
            yield Contradiction(Odd.UNSAID, alert)


def _of_all(said: Said, alerts: Sequence[Alert]) -> Iterator[Contradiction]:
    if said.found is Found.AS_TOLD and alerts and all(said.nothing_wrong.get(a.id) for a in alerts):
        yield Contradiction(Odd.NOTHING, instead=Found.FALSE_CALL)
    if said.found is Found.NOT_TOLD and not said.has_note:
        yield Contradiction(Odd.UNTOLD)


def _instead(told: Alert | None) -> Found:
    return Found.NOT_TOLD if told is None else Found.AS_TOLD
