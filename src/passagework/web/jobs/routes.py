"""How the browser follows a job, and ends it."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Form, Path, Request
from starlette.responses import JSONResponse, Response

from passagework.web.deps import JobsOf
from passagework.web.notices import go_to, local_path
from passagework.web.pages import page

router = APIRouter(prefix="/jobs", tags=["jobs"])
JobId = Annotated[str, Path(max_length=40)]


@router.get("/{job}")
def show(request: Request, jobs: JobsOf, job: JobId, then: str = "/") -> Response:
    """How far it is, as JSON; as a page that renews itself for a browser without scripts."""
    state = jobs.get(job)
    if "text/html" not in request.headers.get("accept", ""):
        return JSONResponse(state.to_json())
    then = local_path(then)
    if state.state == "done":
        return go_to(request, then)
    return page(request, "job.html", {"job": state, "then": then})


@router.post("/{job}/cancel")
def cancel(
    request: Request, jobs: JobsOf, job: JobId, back: Annotated[str, Form()] = "/"
) -> Response:
    """End it."""
    state: Any = jobs.cancel(job)
    if "text/html" in request.headers.get("accept", ""):
        return go_to(request, local_path(back), "Stopped.")
    return JSONResponse(state.to_json())
