"""One vessel's winter judged: which episodes were told in time, and which alerts cried wolf."""

from collections.abc import Iterable, Sequence

from monitor.model.scale import Priority
from simulator.score.asked import episodes_of
from simulator.score.case import Case
from simulator.score.episodes import Episode, Stretch
from simulator.score.explained import is_right, openings_of
from simulator.score.results import FalseAlert, Side, Told

NEVER_S = 365 * 86_400.0
"""The delay of what was never told: longer than any winter, so that it counts in a median."""


def side_of(case: Case, stretches: Sequence[Stretch], warning: Sequence[Stretch] | None = None) -> Side:
    """Judge what one watch told of a vessel's winter.

    Args:
        case: her winter.
        stretches: for which alerts stood.
        warning: those for which they told of what is or what is to come, where that is not all of them.
    """
    warning = stretches if warning is None else warning
    return Side(
        told=tuple(told_of(episode, warning) for episode in episodes_of(case)),
        false=tuple(false_alerts(case, stretches)),
        opened=len(openings_of(stretches, Priority.WARNING)),
    )


def told_of(episode: Episode, stretches: Iterable[Stretch]) -> Told:
    """Judge one episode by the stretches of its keys at the priority it asks for."""
    keys = set(episode.keys)
    runs = _runs(s for s in stretches if s.priority is episode.least and (s.rule, s.subject) in keys)
    if episode.due_ms is None:
        return _delayed(episode, runs)
    return _warned(episode, episode.due_ms, runs)


def false_alerts(case: Case, stretches: Sequence[Stretch]) -> list[FalseAlert]:
    """Give the alerts that cried wolf, each counted once, at its highest priority that was not right."""
    vessel = case.record.id
    false = [o for o in openings_of(stretches, Priority.ALARM) if not is_right(o, case.log, vessel)]
    found = [FalseAlert(key=o.said, priority="alarm", at_ms=o.from_ms) for o in false]
    for opening in openings_of(stretches, Priority.WARNING):
        counted = any(o.said == opening.said and opening.from_ms <= o.from_ms <= opening.to_ms for o in false)
        if not counted and not is_right(opening, case.log, vessel):
            found.append(FalseAlert(key=opening.said, priority="warning", at_ms=opening.from_ms))
    return found


def _runs(stretches: Iterable[Stretch]) -> list[tuple[int, int]]:
    """Join stretches that overlap or touch: one alert handed the telling over to another."""
    runs: list[tuple[int, int]] = []
    for stretch in sorted(stretches, key=lambda s: s.from_ms):
        if runs and stretch.from_ms <= runs[-1][1]:
            runs[-1] = (runs[-1][0], max(runs[-1][1], stretch.to_ms))
        else:
            runs.append((stretch.from_ms, stretch.to_ms))
    return runs


def _warned(episode: Episode, due_ms: int, runs: list[tuple[int, int]]) -> Told:
    standing = next((run for run in runs if run[0] < due_ms <= run[1]), None)
    warning_s = 0.0 if standing is None else (due_ms - standing[0]) / 1000
    within = None
    if episode.due_notice_ms is not None:
        notice_ms = episode.due_notice_ms
        within = standing is not None and any(from_ms <= notice_ms < to_ms for from_ms, to_ms in runs)
    elif episode.target_s is not None:
        within = warning_s >= episode.target_s
    return Told(
        row=episode.row,
        at_ms=due_ms,
        caught=standing is not None,
        opened_ms=None if standing is None else standing[0],
        seconds=warning_s,
        within=within,
    )


def _delayed(episode: Episode, runs: list[tuple[int, int]]) -> Told:
    # What was told before a cause began was told of something else; a mark on its way may find it told.
    from_ms = episode.begins_ms if episode.from_cause else 0
    telling = next((r for r in runs if from_ms <= r[0] <= episode.until_ms and r[1] > episode.begins_ms), None)
    delay_s = NEVER_S if telling is None else max(telling[0] - episode.begins_ms, 0) / 1000
    return Told(
        row=episode.row,
        at_ms=episode.begins_ms,
        caught=telling is not None,
        opened_ms=None if telling is None else telling[0],
        seconds=delay_s,
        within=None if episode.target_s is None else delay_s <= episode.target_s,
    )
