"""Hands a version of a record in, and lets no other be made of the one before while nobody knows what became of it."""

from concurrent.futures import Future
from weakref import WeakValueDictionary

from monitor.model.inputs import RecordVersion
from monitor.web.commands import taken
from monitor.web.deps import Deps
from monitor.web.problems import ProblemError

# Whoever is to answer keeps it alive.
_on_its_way: "WeakValueDictionary[str, Future[str | None]]" = WeakValueDictionary()


def see_that_none_is_on_its_way(vessel_id: str) -> None:
    """See that every earlier version was answered. Asked in the vessel's turn, before the record is read.

    Raises:
        ProblemError: 503 where one was not: what is made of the record as it stands would take that one back.
    """
    earlier = _on_its_way.get(vessel_id)
    if earlier is not None and not earlier.done():
        raise ProblemError(503, "An earlier change of her record is still on its way: wait a minute, then look again.")


async def put_version(deps: Deps, version: RecordVersion) -> None:
    """Hand a version in, in its vessel's turn, and wait until it is committed.

    Raises:
        ProblemError: where it was refused (409), in the agent's words, or not answered in time (503).
    """
    answer = _on_its_way[version.vessel.id] = deps.submit(version)
    await taken(answer)
