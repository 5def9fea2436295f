"""Puts the pages and the API together."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from fastapi import Depends, FastAPI
from fastapi.middleware.gzip import GZipMiddleware

from monitor.web import (
    api_acts,
    api_alerts,
    api_calls,
    api_gate,
    api_intake,
    api_move,
    api_openapi,
    api_readings,
    api_report,
    api_vessels,
    api_visits,
    api_work,
    assets,
    feed_calendar,
    metrics,
    page_acts,
    page_alert,
    page_call_list,
    page_calls,
    page_commission,
    page_coolant,
    page_gate,
    page_link,
    page_load,
    page_move,
    page_owner,
    page_people,
    page_photo,
    page_record,
    page_record_entry,
    page_record_new,
    page_record_remove,
    page_record_season,
    page_record_versions,
    page_rejects,
    page_report,
    page_round,
    page_rules,
    page_settings,
    page_sign_in,
    page_since,
    page_undelivered,
    page_vessel,
    page_visit,
    page_visits,
    page_work,
    page_yard,
    problems,
    sight,
    stream,
)
from monitor.web.body_limit import BodyLimit
from monitor.web.bundle import ChartBundle
from monitor.web.deps import Deps
from monitor.web.door import SignInError, sign_in_first
from monitor.web.guard import Guard
from monitor.web.throttle import Tries


def create_app(deps: Deps) -> FastAPI:
    """Make the web application. It has no state of its own: everything comes through ``deps``."""

    @asynccontextmanager
    async def lifespan(_app: FastAPI) -> AsyncIterator[None]:
        yield
        deps.changes.close()

    app = FastAPI(
        title="Coldberth",
        summary="Boats laid up for the winter: how they stand, what was said of them, and their lay-up records.",
        openapi_url=None,  # a route of our own, which asks who asks
        docs_url=None,  # its page loads scripts from elsewhere, and this one works with no internet
        redoc_url=None,
        lifespan=lifespan,
        dependencies=[Depends(sight.viewer)],
    )
    app.state.deps = deps
    app.state.tries = Tries()
    app.state.bundle = ChartBundle(deps.cache_dir)
    problems.install(app)
    app.add_exception_handler(SignInError, sign_in_first)
    app.include_router(page_record_new.router, include_in_schema=False)  # before vessels: no vessel is called "new"
    for page in (page_alert, page_rules):
        app.include_router(page.router, include_in_schema=False)
    for page in (page_yard, page_vessel, page_rejects, stream, assets, metrics):
        app.include_router(page.router, include_in_schema=False)
    for page in (page_acts, page_call_list, page_calls, page_link, page_undelivered, page_load):
        app.include_router(page.router, include_in_schema=False)
    for page in (page_round, page_visit, page_visits, page_sign_in, page_people, feed_calendar, api_openapi):
        app.include_router(page.router, include_in_schema=False)
    for part in (api_vessels, api_readings, api_alerts, api_acts, api_calls, api_intake):
        app.include_router(part.router, prefix="/api")
    app.include_router(page_gate.router, include_in_schema=False)
    app.include_router(page_commission.router, include_in_schema=False)
    app.include_router(page_move.router, include_in_schema=False)
    app.include_router(api_move.router, prefix="/api")
    app.include_router(page_coolant.router, include_in_schema=False)
    # The forms of a part take any word for its name: they come last.
    for page in (page_record, page_record_versions, page_record_season, page_record_remove, page_record_entry):
        app.include_router(page.router, include_in_schema=False)
    app.include_router(page_report.router, include_in_schema=False)
    app.include_router(page_owner.router, include_in_schema=False)
    app.include_router(page_settings.router, include_in_schema=False)
    app.include_router(page_since.router, include_in_schema=False)
    for page in (page_work, page_photo):
        app.include_router(page.router, include_in_schema=False)
    for part in (api_visits, api_gate, api_report, api_work):
        app.include_router(part.router, prefix="/api")
    app.add_middleware(BodyLimit)
    app.add_middleware(GZipMiddleware, minimum_size=2_000, compresslevel=5)
    app.add_middleware(Guard, hosts=deps.hosts, broken=problems.broken, refused=problems.foreign)
    return app
