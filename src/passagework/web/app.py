"""The page put together: rooms, safety, errors, files."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib import import_module
from importlib.resources import files
from typing import TYPE_CHECKING, Any, Final

from fastapi import Depends, FastAPI
from fastapi.staticfiles import StaticFiles
from starlette.concurrency import run_in_threadpool
from starlette.middleware import Middleware
from starlette.responses import Response
from starlette.types import Scope

from passagework import __version__
from passagework.web.errors import LOG, add_error_pages, fault
from passagework.web.jobs import Jobs
from passagework.web.library.arrivals import Arrivals
from passagework.web.notices import Notices
from passagework.web.safety import Guard
from passagework.web.settings import Settings
from passagework.web.tokens import check_token

if TYPE_CHECKING:
    from passagework.studio.studio import Studio

ROUTERS: Final = (
    "passagework.web.jobs.routes",
    "passagework.web.today.routes",
    "passagework.web.students.routes",
    "passagework.web.students.overview",
    "passagework.web.students.lessons",
    "passagework.web.teaching.skills_pages",
    "passagework.web.teaching.readiness_pages",
    "passagework.web.teaching.stones_pages",
    "passagework.web.teaching.plan_pages",
    "passagework.web.teaching.assignment_pages",
    "passagework.web.piece.routes",
    "passagework.web.takes.arriving",
    "passagework.web.takes.routes",
    "passagework.web.takes.sound",
    "passagework.web.takes.student_routes",
    "passagework.web.keeping.routes",
    "passagework.web.library.routes",
    "passagework.web.library.arrivals",
    "passagework.web.library.levels",
    "passagework.web.library.placing",
    "passagework.web.library.notes",
)
"""Modules whose `router` is part of the page."""

TEND_EVERY: Final = 3600.0
"""Seconds between two looks at whether the day's backup is due."""


def create_app(studio: Studio | None, settings: Settings, jobs: Jobs | None = None) -> FastAPI:
    """The application for one studio. `jobs` is ended with it, whether it was handed in or not."""
    queue = jobs or Jobs(settings.workers)

    @asynccontextmanager
    async def life(_: FastAPI) -> AsyncIterator[None]:
        tending = asyncio.create_task(_tend(studio)) if studio else None
        yield
        if tending:
            tending.cancel()
        await run_in_threadpool(queue.close)

    app = FastAPI(
        title="Passagework",
        version=__version__,
        lifespan=life,
        dependencies=[Depends(check_token)],
        middleware=[Middleware(Guard, settings=settings, fault=fault)],
        # The pages that describe an interface load scripts from elsewhere.
        docs_url=None,
        redoc_url=None,
    )
    app.state.studio = studio
    app.state.settings = settings
    app.state.jobs = queue
    app.state.notices = Notices()
    app.state.arrivals = Arrivals()
    add_error_pages(app)
    for name in ROUTERS:
        app.include_router(import_module(name).router)
    folder = files("passagework.web").joinpath("static")
    app.mount("/static", _Files(directory=str(folder)), name="static")
    return app


async def _tend(studio: Studio) -> None:
    """Let the studio make its backup of the day while the page stays open."""
    while True:
        await asyncio.sleep(TEND_EVERY)
        try:
            await run_in_threadpool(studio.tend)
        except Exception as error:  # a full disk must not end the page
            LOG.error("the studio could not be tended: %s", error)


class _Files(StaticFiles):
    """Files that the browser keeps, and asks about before it uses them again."""

    def file_response(self, *args: Any, **kwargs: Any) -> Response:
        response = super().file_response(*args, **kwargs)
        response.headers["cache-control"] = "no-cache"
        return response

    async def get_response(self, path: str, scope: Scope) -> Response:
        """The file, or 404 for a path that cannot be one."""
        from starlette.exceptions import HTTPException

        if "\0" in path or len(path) > 200:
            raise HTTPException(404)
        return await super().get_response(path, scope)
