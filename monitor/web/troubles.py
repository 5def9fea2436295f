"""What is wrong with the watch itself: said at the top of every page, and by ``/healthz`` where a restart may help."""

from dataclasses import dataclass

from monitor.web.clock import YardClock
from monitor.web.deps import Deps, Health
from monitor.web.sight import Viewer
from monitor.web.undelivered import reached_later, undelivered, undelivered_sentences

COMMIT_STALE_MS = 5 * 60_000
FOR_OWNERS = "The yard's watch cannot hear at the moment; the yard knows."


def troubles(health: Health, clock: YardClock) -> list[str]:
    """Say what is wrong with the agent, one sentence each; nothing where it watches as it should."""
    found = []
    if not health.loop_alive:
        found.append("The watch has stopped: nothing here is being watched. Start the agent again.")
    if not health.connected:
        since = "" if health.since_ms is None else f" since {clock.at(health.since_ms)}"
        found.append(f"Not connected to the broker{since}: no boat can be heard. Look at broker and network.")
    elif not health.caught_up:
        found.append("Catching up with what the broker kept: what is shown may be behind.")
    if health.last_commit_ms is not None and health.wall_ms - health.last_commit_ms > COMMIT_STALE_MS:
        age = clock.figures.span((health.wall_ms - health.last_commit_ms) / 1000)
        found.append(f"Nothing has been stored for {age}. Look at the disk of the agent's machine.")
    found.extend(health.troubles)
    return found


def _is_blind(health: Health) -> bool:
    stale = health.last_commit_ms is not None and health.wall_ms - health.last_commit_ms > COMMIT_STALE_MS
    return health.deaf or stale


@dataclass(frozen=True, slots=True)
class Top:
    """What stands at the top of a page: what is wrong with the watch, and which messages have not arrived."""

    troubles: tuple[str, ...]
    undelivered: tuple[str, ...]


def notices_at_top(deps: Deps, viewer: Viewer, clock: YardClock) -> Top:
    """Say what is wrong with the agent, what reaches others late, and whom messages have not reached.

    An owner is told only whether anything is heard: the rest is the yard's to mend.
    """
    health = deps.health()
    if viewer.is_owner:
        return Top((FOR_OWNERS,) if _is_blind(health) else (), ())
    told = undelivered_sentences([n for n in undelivered(deps, viewer) if not reached_later(deps, n)], clock)
    return Top((*troubles(health, clock), *health.delays), tuple(told))
