"""Every episode that one vessel's winter asks the watch for."""

from dataclasses import replace

from simulator.score.asked_cold import freezes, frozen_batteries
from simulator.score.asked_plant import dehumidifier_stops, mould, power_losses, silences
from simulator.score.asked_power import batteries_to_half, pumps_unfed
from simulator.score.asked_water import drips, inflows
from simulator.score.case import Case
from simulator.score.episodes import Episode
from simulator.score.rows import BY_NAME, UNSEEN

_ASKS = (
    freezes,
    inflows,
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
    should have been told. A harm whose own sensors were at fault is asked in a row of its own, where the silence's
    alert counts as well.
    """
    found = [_seen(case, episode, sensors) for ask in _ASKS for episode, sensors in ask(case)]
    return [episode for episode in found if _has_room(case, episode)]


def _has_room(case: Case, episode: Episode) -> bool:
    if episode.due_notice_ms is not None:
        return episode.due_notice_ms > case.begins_ms
    if episode.due_ms is not None:
        return episode.due_ms - case.begins_ms > 1000 * (episode.target_s or 0.0)
    return episode.until_ms - episode.begins_ms >= 1000 * (episode.target_s or 0.0)


def _seen(case: Case, episode: Episode, sensors: set[str]) -> Episode:
    if episode.due_ms is None or not BY_NAME[episode.row].all_caught:
        return episode
    at_fault = case.sensors_at_fault(sensors, episode.due_ms)
    if not at_fault:
        return episode
    keys = (*episode.keys, *(("silence", subject) for subject in sorted(at_fault)))
    return replace(episode, row=UNSEEN.name, keys=keys, target_s=None, due_notice_ms=None)
