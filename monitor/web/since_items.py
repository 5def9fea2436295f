"""What changed, put into lines: alerts, each as one; an event of the fleet as one; visits; boats that came or moved."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from monitor.messages.words import title_of
from monitor.model.call import Call, CallKind
from monitor.model.happened import Happened, Move
from monitor.model.inputs import VisitReport
from monitor.web.call_words import CAUSES, call_title
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.ranks import Rank, rank_of
from monitor.web.round_words import said
from monitor.web.sight import Viewer
from monitor.web.since_story import Story

FLEET_FROM = 2
"""An event of the fleet is told as one where so many of its boats are in it; else the boat alone says more."""
CALLS_AT_MOST = 200


@dataclass(frozen=True, slots=True)
class Item:
    """One thing that changed.

    Attributes:
        at_ms: when it last did.
        about: the boat, or what many boats had.
        address: the page that says more.
        words: what changed.
        rank: how it stands now, None where it does not stand any more, or never did.
    """

    at_ms: int
    about: str
    address: str
    words: str
    rank: Rank | None = None


@dataclass(frozen=True, slots=True)
class Group:
    """The stories of an event of the fleet."""

    call: Call
    stories: tuple[Story, ...]


Told = Story | Group | Move | tuple[int, VisitReport]


def in_order(deps: Deps, viewer: Viewer, happened: Happened, stories: Sequence[Story], since_ms: int) -> list[Told]:
    """Give what is to be told, newest first, before any of it is put into words: a page shows only some."""
    told: list[tuple[tuple[int, int], Told]] = [((v.at_ms, seq), (seq, v)) for seq, v in happened.visits]
    told += [((move.at_ms, move.seq), move) for move in happened.moves]
    calls = [] if viewer.is_owner or len(stories) < FLEET_FROM else _fleet_calls(deps, since_ms)
    left = list(stories)
    for call in calls:
        ids = _alerts_of(deps, call)
        mine = tuple(story for story in left if story.alert in ids)
        if len({story.vessel for story in mine}) >= FLEET_FROM:
            left = [story for story in left if story.alert not in ids]
            told.append((max((story.at_ms, story.seq) for story in mine), Group(call, mine)))
    told += [((story.at_ms, story.seq), story) for story in left]
    return [one for _, one in sorted(told, key=lambda pair: pair[0], reverse=True)]


def _fleet_calls(deps: Deps, since_ms: int) -> list[Call]:
    calls = deps.calls.calls(open_only=False, limit=CALLS_AT_MOST)
    return [c for c in calls if c.kind is CallKind.FLEET and (c.ended_ms is None or c.ended_ms >= since_ms)]


def _alerts_of(deps: Deps, call: Call) -> frozenset[str]:
    """Give a call's alerts, also those that are over: its messages still name them."""
    named = (key for line in deps.calls.notices(call.id) for key in line.notice.alerts)
    return frozenset(call.alerts).union(named)


def item(deps: Deps, viewer: Viewer, clock: YardClock, told: Told) -> Item | None:
    """Put one thing into a line; None where it is of an alert or a boat that is not known any more."""
    if isinstance(told, Story):
        return _of_alert(deps, viewer, clock, told)
    if isinstance(told, Group):
        return _of_many(deps, viewer, told)
    if isinstance(told, Move):
        return _of_move(told)
    return _of_visit(deps, told[1])


def _of_alert(deps: Deps, viewer: Viewer, clock: YardClock, story: Story) -> Item | None:
    alert, stored = deps.alerts.alert(story.alert), deps.records.record(story.vessel)
    if alert is None or stored is None:
        return None
    title = title_of(alert.finding, stored.vessel, clock.zone, clock.now_ms).rstrip(".")
    after = f"; {'; '.join(story.people)}" if story.people else ""
    words = f"{story.lead}: {title}{after}" if story.lead else f"{title}{after}"
    # How soon somebody must act is the yard's to know: an owner is asked to do nothing.
    stands = alert.is_open and not alert.state.is_aside and not viewer.is_owner
    rank = rank_of(alert) if stands else None
    about = f"{stored.vessel.name}, {stored.vessel.place}"
    return Item(story.at_ms, about, f"/vessels/{story.vessel}", words, rank)


def _of_many(deps: Deps, viewer: Viewer, group: Group) -> Item:
    boats = {story.vessel: story for story in reversed(group.stories)}
    counted = Counter(story.lead for story in boats.values() if story.lead)
    parts = [f"{lead.lower()} on {number}" for lead, number in counted.most_common()]
    taken = [story for story in boats.values() if story.people]
    parts += [f"somebody did something about it on {len(taken)}"] if taken else []
    is_over = group.call.ended_ms is not None
    about = CAUSES.get(group.call.about, group.call.about)
    title = f"{about}: {len(boats)} boats" if is_over else call_title(deps, viewer, group.call)
    words = f"{'; '.join(parts)}{'; all over' if is_over else ''}"
    at_ms = max(story.at_ms for story in group.stories)
    return Item(at_ms, title, f"/calls/{group.call.id}", f"{words[:1].upper()}{words[1:]}")


def _of_visit(deps: Deps, visit: VisitReport) -> Item | None:
    stored = deps.records.record(visit.vessel)
    if stored is None:
        return None
    found = said("found_past", visit.visit.found.value)
    words = f"Visited by {visit.actor}: {found[:1].lower()}{found[1:]}"
    return Item(visit.at_ms, stored.vessel.name, f"/vessels/{visit.vessel}/visits/{visit.at_ms}", words)


def _of_move(move: Move) -> Item:
    return Item(move.at_ms, move.name, f"/vessels/{move.vessel}", "; ".join(_moved(move)))


def _moved(move: Move) -> Iterator[str]:
    before, now = move.before, move.now
    if before is None:
        yield f"New here: {now.place}, {now.mode}, by {move.actor}"
        return
    if before.place != now.place:
        yield f"Moved from {before.place} to {now.place} by {move.actor}"
    if before.mode != now.mode:
        by = f" by {move.actor}" if before.place == now.place else ""
        yield f"{'now' if before.place != now.place else 'Now'} {now.mode}, before {before.mode}{by}"
