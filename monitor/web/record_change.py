"""Changes of a vessel's record, one after another: each is made to the record as the one before it left it."""

from collections.abc import Callable

from fastapi.concurrency import run_in_threadpool
from pydantic import ValidationError

from monitor.model.inputs import RecordVersion
from monitor.model.vessel import Vessel
from monitor.model.views import StoredRecord
from monitor.web import sight
from monitor.web.deps import Deps
from monitor.web.problems import ProblemError, counted, mistakes_of
from monitor.web.record_form_save import turns
from monitor.web.record_put import put_version, see_that_none_is_on_its_way
from monitor.web.sight import Viewer


async def change_record(
    deps: Deps, viewer: Viewer, vessel_id: str, name: str, change: Callable[[Vessel], Vessel]
) -> StoredRecord:
    """Make a new version of a vessel's record of the one that stands, and wait until it is committed.

    Args:
        deps: what the pages are given.
        viewer: who asks.
        vessel_id: the vessel.
        name: who changes it, where nobody is signed in.
        change: gives the record as it is to be. It is run in a thread, and may refuse with `ProblemError`.

    Raises:
        ProblemError: 404 where there is no such vessel, 422 where what it makes does not hold together, in words.
    """
    async with turns.of(vessel_id):
        see_that_none_is_on_its_way(vessel_id)
        before = await run_in_threadpool(_standing, deps, viewer, vessel_id)
        made = await run_in_threadpool(_checked, change, before.vessel)
        if made == before.vessel:
            return before
        await put_version(deps, RecordVersion(made, deps.now_ms(), viewer.acts_as(name)))
        return await run_in_threadpool(_standing, deps, viewer, vessel_id)


def _standing(deps: Deps, viewer: Viewer, vessel_id: str) -> StoredRecord:
    stored = deps.records.record(vessel_id) if sight.may_see(viewer, vessel_id) else None
    if stored is None:
        raise ProblemError(404, f"There is no boat with the id {vessel_id!r} in this yard.")
    return stored


def _checked(change: Callable[[Vessel], Vessel], before: Vessel) -> Vessel:
    """Make the change, and check what it makes as a whole: a copy with other fields is not checked."""
    try:
        return Vessel.model_validate(change(before).model_dump())
    except ValidationError as error:
        found = mistakes_of(error.errors())
        raise ProblemError(422, counted(found), found) from error
