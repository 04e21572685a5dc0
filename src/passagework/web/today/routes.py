"""The page of a day, and taking back."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Annotated

from fastapi import APIRouter, Query, Request
from pydantic import BaseModel, Field
from starlette.responses import JSONResponse, Response

from passagework.studio.piece_records import PieceQuery
from passagework.web import words
from passagework.web.deps import JobsOf, StudioOf
from passagework.web.forms import FormError, Line, day
from passagework.web.notices import go_to, local_path
from passagework.web.pages import page

router = APIRouter(tags=["today"])

FIRST_DAY, LAST_DAY = date(1900, 1, 1), date(2200, 1, 1)
"""Days that a lesson can be on."""


@router.get("/")
def show(
    request: Request,
    studio: StudioOf,
    jobs: JobsOf,
    on: Annotated[str, Query(max_length=40)] = "",
) -> Response:
    """A day's lessons; today's without `on`."""
    problem = ""
    now = words.today()
    try:
        chosen = day(on, "The day") or now
    except FormError as error:
        chosen, problem = now, str(error)
    chosen = min(max(chosen, FIRST_DAY), LAST_DAY)
    context = {
        "day": studio.day(chosen),
        "before": chosen - timedelta(days=1),
        "after": chosen + timedelta(days=1),
        "now": now,
        "problem": problem,
        "anybody": bool(studio.students.all()),
        "anything": studio.library.search(PieceQuery(page_size=1)).total > 0,
        "going_on": jobs.unfinished(),
        "steps": studio.undo.recent(limit=RECENT),
    }
    return page(request, "today/day.html", context, status=422 if problem else 200)


RECENT = 12
"""Changes that can be taken back from this page."""


class Undoing(BaseModel):
    """What a script sends."""

    undo: Annotated[str, Field(max_length=200)]


@router.post("/undo")
def undo(request: Request, studio: StudioOf, undo: Line, back: Line = "/") -> Response:
    """Take a change back; what undoes that is offered in turn."""
    done = studio.undo.undo(undo)
    return go_to(request, local_path(back), f"Taken back: {_lowered(done.value)}.", done.undo)


@router.post("/undo.json")
def undo_by_script(studio: StudioOf, sent: Undoing) -> Response:
    """The same for scripts."""
    done = studio.undo.undo(sent.undo)
    return JSONResponse({"words": f"Taken back: {_lowered(done.value)}.", "undo": done.undo})


def _lowered(label: str) -> str:
    return label[:1].lower() + label[1:]
