"""Where people say that a vessel is now, and how it gets into her record."""

from collections.abc import Iterator
from typing import Annotated

from fastapi.concurrency import run_in_threadpool
from pydantic import BaseModel, ConfigDict, Field

from monitor.model.vessel import Mode, Vessel
from monitor.model.views import StoredRecord
from monitor.model.walk import place_key
from monitor.record.moving import Move, moved, warnings
from monitor.web.acts import Name
from monitor.web.commands import name_of
from monitor.web.deps import Deps
from monitor.web.problems import Mistake, ProblemError
from monitor.web.record_change import change_record
from monitor.web.sight import Viewer

Place = Annotated[str, Field(max_length=40)]


class MoveIn(BaseModel):
    """Who moved her where: a plot ashore or a berth afloat, and as what she lies there.

    ``sits_otherwise`` says that she was lifted or her trim has changed; ``sure`` that the warnings were read. Where
    ``looked_at`` gives those that were, a line each, it holds for no other.
    """

    model_config = ConfigDict(extra="forbid")

    name: Name
    mode: Mode
    plot: Place = ""
    berth: Place = ""
    sits_otherwise: bool = False
    sure: bool = False
    looked_at: Annotated[str, Field(max_length=20_000)] = ""

    def is_sure_of(self, found: list[str]) -> bool:
        """Say whether every warning was read."""
        return self.sure and (not self.looked_at or set(found) <= set(self.looked_at.splitlines()))

    @property
    def move(self) -> Move:
        """Give the move."""
        return Move(self.mode, self.plot.strip(), self.berth.strip(), self.sits_otherwise)


class NotSureError(ProblemError):
    """There is something to look at before she is moved."""

    def __init__(self, found: list[str]) -> None:
        super().__init__(409, " ".join(found), [Mistake(key="sure", reason=one) for one in found])


async def move_vessel(deps: Deps, viewer: Viewer, vessel_id: str, said: MoveIn) -> StoredRecord:
    """Save where a vessel is now.

    Raises:
        HTTPException: 404 where there is no such vessel.
        NotSureError: 409 where there are warnings, and nobody has said that they read them.
        ProblemError: 422 where the record would not hold together, in words.
    """
    name = await run_in_threadpool(name_of, deps, viewer, said.name, vessel_id)

    def put(record: Vessel) -> Vessel:
        after = moved(record, said.move)
        found = list(warnings(record, after, others_of(deps, vessel_id)))
        if not said.is_sure_of(found) and found:
            raise NotSureError(found)
        return after

    return await change_record(deps, viewer, vessel_id, name, put)


def others_of(deps: Deps, vessel_id: str) -> Iterator[Vessel]:
    """Give the other vessels' records."""
    return (now.stored.vessel for now in deps.yard.vessels_now() if now.stored.vessel.id != vessel_id)


def empty_places(deps: Deps) -> tuple[list[str], list[str]]:
    """Give the plots and the berths at which a boat stood and none stands now, in walking order."""
    here = [now.stored.vessel for now in deps.yard.vessels_now()]
    ever = deps.records.places()
    plots = {spot.plot for spot in ever if spot.plot} - {vessel.plot for vessel in here}
    berths = {spot.berth for spot in ever if spot.berth} - {vessel.berth for vessel in here}
    return sorted(plots, key=place_key), sorted(berths, key=place_key)
