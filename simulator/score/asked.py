"""Every episode that one vessel's winter asks the watch for."""

from dataclasses import replace

from monitor.model.scale import Priority
from simulator.score.asked_cold import freezes, frozen_batteries
from simulator.score.asked_plant import dehumidifier_stops, mould, power_losses, silences
from simulator.score.asked_power import batteries_to_half, pumps_unfed
from simulator.score.asked_water import drips, inflows, other_water
from simulator.score.case import DAY_MS, Case
from simulator.score.episodes import Episode
from simulator.score.rows import BY_NAME, CAUSE_UNSEEN, HARM_UNSEEN

_NEAR_MS = DAY_MS // 4
_ASKS = (
    freezes,
    inflows,
    other_water,
    drips,
    batteries_to_half,
    pumps_unfed,
    frozen_batteries,
    dehumidifier_stops,
    power_losses,
    silences,
    mould,
)


def episodes_of(case: Case) -> list[Episode]:
    """Give the episodes of a vessel's winter.

    One that had no room for its target is not asked, caught or not: a harm that came sooner after the winter's
    beginning than it should have been warned of, a cause that was gone or cut off by the winter's end sooner than it
    should have been told. What its own sensors could not see, because they were at fault, is asked in a row of its own,
    where the silence's alert counts as well.
    """
    found = [_seen(case, episode, sensors) for ask in _ASKS for episode, sensors in ask(case)]
    return [episode for episode in found if _has_room(case, episode)]


def _has_room(case: Case, episode: Episode) -> bool:
    if episode.due_notice_ms is not None:
        return episode.due_notice_ms > case.begins_ms
    if episode.due_ms is not None:
        return episode.due_ms - case.begins_ms > 1000 * (episode.target_s or 0.0)
    return episode.until_ms - episode.begins_ms >= 1000 * (episode.target_s or 0.0)


def _seen(case: Case, episode: Episode, sensors: set[str] | None) -> Episode:
    """Put an episode into the row of what its sensors could not see, where they were at fault when it counted.

    That is in the last hours before a harm, or for as long as a cause may take to be told.
    """
    if sensors is None or not BY_NAME[episode.row].all_caught:
        return episode
    if episode.due_ms is not None:
        from_ms, to_ms = episode.due_ms - _NEAR_MS, episode.due_ms
    else:
        told_by_ms = episode.begins_ms + round(1000 * (episode.target_s or 0.0))
        from_ms, to_ms = episode.begins_ms, min(told_by_ms, episode.until_ms)
    at_fault = case.sensors_at_fault(sensors, from_ms, to_ms)
    if not at_fault:
        return episode
    row = CAUSE_UNSEEN if episode.due_ms is None else HARM_UNSEEN
    keys = (*episode.keys, *(("silence", subject) for subject in sorted(at_fault)))
    return replace(episode, row=row.name, keys=keys, least=Priority.WARNING, target_s=None, due_notice_ms=None)
