"""The lay-up's work, as data."""

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool

from monitor.web.deps import Deps
from monitor.web.found import vessel_now
from monitor.web.problems import ANSWERS, REFUSED
from monitor.web.sight import Asking, Viewer
from monitor.web.work_in import JobIn, found_job, say_job
from monitor.web.work_shapes import JobOut, WorkOut
from monitor.web.work_shown import job_shown, work_shown

router = APIRouter(tags=["lay-up work"], responses=ANSWERS)


@router.get("/vessels/{vessel_id}/work")
def give_work(request: Request, viewer: Asking, vessel_id: str) -> WorkOut:
    """Give the jobs for her by system, each with how it ended; the engine maker's book goes before all of them."""
    deps: Deps = request.app.state.deps
    record = vessel_now(deps, viewer, vessel_id).stored.vessel
    return WorkOut.of(record, work_shown(deps.work_lists, record))


@router.post("/vessels/{vessel_id}/work/{job_id}", responses=REFUSED)
async def say_how_it_ended(request: Request, viewer: Asking, vessel_id: str, job_id: str, said: JobIn) -> JobOut:
    """Say how a job ended: a new version of her record, with an open item for whatever it left open.

    What it left open before stays, and so do its photos; a tag comes off by ``take_off``, with words.
    """
    deps: Deps = request.app.state.deps
    await say_job(deps, viewer, vessel_id, job_id, said)
    return await run_in_threadpool(_out, deps, viewer, vessel_id, job_id)


def _out(deps: Deps, viewer: Viewer, vessel_id: str, job_id: str) -> JobOut:
    return JobOut.of(job_shown(found_job(deps, job_id), vessel_now(deps, viewer, vessel_id).stored.vessel))
