"""What changed since this browser last looked: a box for a page, as long as a screen, and all of it for its own."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from fastapi import Request

from monitor.model.happened import Happened
from monitor.web import sight
from monitor.web.clock import QUARTER_MS, YardClock
from monitor.web.deps import Deps
from monitor.web.sight import Viewer
from monitor.web.since_items import Item, in_order, item
from monitor.web.since_mark import Mark, mark_of
from monitor.web.since_story import stories

IN_A_BOX = 5
READ_FOR_A_BOX = 400
ON_A_PAGE = 300
READ_FOR_A_PAGE = 20_000
FIRST_LOOK_MS = 24 * 3_600_000
"""Whoever has never said that they looked is shown the last day."""


@dataclass(frozen=True, slots=True)
class Since:
    """What changed.

    Attributes:
        from_ms: since when, the yard's time.
        is_marked: whether somebody said then that they had looked; else it is the last day.
        items: newest first, as many as are shown.
        more: how many more there are; at least so many where not all was read.
        is_all: whether all of it was read.
        up_to: the seq up to which this is.
        now_ms: the yard's time of this page.
    """

    from_ms: int
    is_marked: bool
    items: tuple[Item, ...]
    more: int
    is_all: bool
    up_to: int
    now_ms: int

    @property
    def can_be_marked(self) -> bool:
        """Whether all that changed stands here, so that nothing unseen is marked as looked at."""
        return self.more == 0 and self.is_all


def since_box(request: Request, deps: Deps, viewer: Viewer, clock: YardClock) -> Since:
    """Give what changed as a box on a page shows it; kept, since every yard page has it."""
    up_to = deps.changes.seq  # before anything is read: what is committed meanwhile stays new
    mark = mark_of(request, viewer, deps)
    asked = (mark, viewer.boats, viewer.is_owner)
    as_of = (deps.happened.last_happened(), clock.zone, clock.now_ms // QUARTER_MS)
    since: Since = deps.since.get(asked, as_of, lambda: _since(deps, viewer, clock, mark, READ_FOR_A_BOX, IN_A_BOX))
    return replace(since, up_to=up_to, now_ms=clock.now_ms)


def since_page(request: Request, deps: Deps, viewer: Viewer, clock: YardClock) -> Since:
    """Give what changed as a page of its own shows it."""
    up_to = deps.changes.seq
    mark = mark_of(request, viewer, deps)
    return replace(_since(deps, viewer, clock, mark, READ_FOR_A_PAGE, ON_A_PAGE), up_to=up_to)


def _since(deps: Deps, viewer: Viewer, clock: YardClock, mark: Mark | None, read: int, shown: int) -> Since:
    from_ms = clock.now_ms - FIRST_LOOK_MS if mark is None else mark.at_ms
    # All versions of all records would be gone through for a day of them.
    after_seq = deps.happened.seq_before(from_ms) if mark is None else mark.seq
    happened = _seen(deps.happened.happened(after_seq, viewer.boats, read), viewer)
    if mark is None:
        happened = _later(happened, from_ms)
    told = in_order(deps, viewer, happened, stories(happened.events), from_ms)
    items = tuple(one for thing in told[:shown] if (one := item(deps, viewer, clock, thing)) is not None)
    more = max(len(told) - shown, 0)
    return Since(from_ms, mark is not None, items, more, happened.is_all, 0, clock.now_ms)


def _seen(happened: Happened, viewer: Viewer) -> Happened:
    """Leave out what this viewer may not see, whatever the journal gave: every page asks the same."""
    return replace(
        happened,
        events=tuple(pair for pair in happened.events if sight.may_see(viewer, pair[1].vessel)),
        visits=tuple(pair for pair in happened.visits if sight.may_see(viewer, pair[1].vessel)),
        moves=tuple(move for move in happened.moves if sight.may_see(viewer, move.vessel)),
    )


def _later(happened: Happened, from_ms: int) -> Happened:
    """Leave out what is from before a time; where that was reached, all of it was read."""
    times = (
        [event.at_ms for _, event in happened.events],
        [visit.at_ms for _, visit in happened.visits],
        [move.at_ms for move in happened.moves],
    )
    reached = all(not of_kind or of_kind[-1] < from_ms for of_kind in times)
    return Happened(
        tuple(pair for pair in happened.events if pair[1].at_ms >= from_ms),
        tuple(pair for pair in happened.visits if pair[1].at_ms >= from_ms),
        tuple(move for move in happened.moves if move.at_ms >= from_ms),
        is_all=happened.is_all or reached,
    )


def marked_by(form: Mapping[str, object], seq: int, now_ms: int) -> tuple[int, int] | None:
    """Read up to where a form says that somebody has looked; None where that cannot be."""
    read = [str(form.get(name, "")) for name in ("up_to", "at_ms")]
    if not all(one.isascii() and one.isdigit() and len(one) <= len(str(2**49)) for one in read):
        return None
    up_to, at_ms = (int(one) for one in read)
    return (up_to, at_ms) if up_to <= seq and at_ms <= now_ms else None
