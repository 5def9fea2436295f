"""What visits say of the watch: how often it called somebody out for nothing, what it missed, which sensors erred."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from monitor.model.inputs import VisitReport
from monitor.model.vessel import Vessel
from monitor.model.visit import Found
from monitor.record.compare import Agreement, Comparison, compare


@dataclass(frozen=True, slots=True)
class Disagreement:
    """A sensor that did not say what a hand read, and the visit on which that was found."""

    visit: VisitReport
    comparison: Comparison


@dataclass(frozen=True, slots=True)
class VisitCount:
    """The visits of a span, newest first, and what stands out among them.

    Attributes:
        visits: all of them.
        false_calls: on which nothing was found of what was told, or of one of the alerts that were looked at.
        missed: on which something was found that nobody had told of.
        disagreements: sensors that differed from a reading taken by hand.
        compared: how many readings there were that a sensor could be held against.
    """

    visits: tuple[VisitReport, ...]
    false_calls: tuple[VisitReport, ...]
    missed: tuple[VisitReport, ...]
    disagreements: tuple[Disagreement, ...]
    compared: int


def count_visits(visits: Iterable[VisitReport], records: Mapping[str, Vessel], from_ms: int, to_ms: int) -> VisitCount:
    """Count the visits of a span of event time, its end included.

    Args:
        visits: visits, newest first.
        records: records by vessel; where one is missing its sensors have the usual errors of their kinds.
        from_ms: beginning of the span.
        to_ms: its end.
    """
    spanned = tuple(v for v in visits if from_ms <= v.at_ms <= to_ms)
    compared = [Disagreement(v, c) for v in spanned for c in compared_on(v, records.get(v.vessel))]
    return VisitCount(
        visits=spanned,
        false_calls=tuple(v for v in spanned if v.visit.found is Found.FALSE_CALL or v.visit.nothing_wrong),
        missed=tuple(v for v in spanned if v.visit.found is Found.NOT_TOLD),
        disagreements=tuple(d for d in compared if d.comparison.verdict is Agreement.DIFFER),
        compared=sum(d.comparison.verdict in {Agreement.AGREE, Agreement.DIFFER} for d in compared),
    )


def compared_on(report: VisitReport, record: Vessel | None) -> list[Comparison]:
    """Hold what was read on a visit against what the sensors had said."""
    found = []
    for reading in report.visit.readings:
        sensor = None if record is None or reading.sensor is None else record.sensor(reading.sensor)
        found.append(compare(reading, sensor, report.at_ms))
    return found
