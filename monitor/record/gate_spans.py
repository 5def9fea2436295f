"""The spans over which nothing changed of what a record says of a thing, version by version."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TypeVar

from monitor.model.vessel import Vessel
from monitor.model.views import StoredRecord

Thing = TypeVar("Thing")


def spans(
    versions: Sequence[StoredRecord],
    from_ms: int,
    to_ms: int,
    of: Callable[[Vessel], Iterable[tuple[str, Thing]]],
) -> Iterator[tuple[Thing, int, int]]:
    """Go through every thing of every version, each span once, as (thing, from, to); a span ends where it changes.

    Args:
        versions: oldest first; the first holds from the beginning.
        from_ms: the beginning, ms UTC.
        to_ms: the end.
        of: what a record says of its things, each by a key that stays; equal is unchanged.
    """
    under_way: dict[str, tuple[Thing, int]] = {}
    begins = [from_ms, *(v.from_ms for v in versions[1:]), to_ms]
    for stored, valid_ms, next_ms in zip(versions, begins, begins[1:], strict=False):
        begin, end = max(valid_ms, from_ms), min(next_ms, to_ms)
        if begin >= end:
            continue
        now = {key: (thing, begin) for key, thing in of(stored.vessel)}
        for key, (thing, since) in under_way.items():
            if key in now and now[key][0] == thing:
                now[key] = thing, since
            else:
                yield thing, since, begin
        under_way = now
    yield from ((thing, since, to_ms) for thing, since in under_way.values())
