"""What the page's routes share: whose sheet is asked for, and the answers to a change."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import Depends, HTTPException, Query, Request
from starlette.responses import JSONResponse, Response

from passagework.studio.records import Done
from passagework.web.deps import LARGEST_ID, Id, StudioOf
from passagework.web.notices import go_to
from passagework.web.pages import render
from passagework.web.piece.sheet import Preparing, Sheet, Wanted, changed, open_sheet, wanted
from passagework.web.piece.shelf import Shelf
from passagework.web.piece.view import slips

Student = Annotated[int | None, Query(ge=1, le=LARGEST_ID)]
"""``?student=3``: for whom; left out for nobody in particular."""

PRINTS = "x-prints"
"""Header in which a script says which drawings it has: their prints, with commas."""

NOT_READY = "The piece is still being prepared. Try again in a moment."


def shelf_of(request: Request) -> Shelf:
    """The shelf of this application."""
    state = request.app.state
    if not hasattr(state, "piece_shelf"):
        state.piece_shelf = Shelf(state.studio, state.jobs)
    shelf: Shelf = state.piece_shelf
    return shelf


ShelfOf = Annotated[Shelf, Depends(shelf_of)]


def _wanted(studio: StudioOf, number: Id, student: Student = None) -> Wanted:
    return wanted(studio, number, student)


WantedOf = Annotated[Wanted, Depends(_wanted)]
"""The piece and the student of the address."""


def _sheet(shelf: ShelfOf, asked: WantedOf) -> Sheet:
    sheet = open_sheet(shelf, asked)
    if isinstance(sheet, Preparing):
        raise HTTPException(409, NOT_READY)
    return sheet


SheetOf = Annotated[Sheet, Depends(_sheet)]
"""The sheet of the address, where it is ready; 409 where it is not."""


def address(sheet: Sheet, part: str = "") -> str:
    """The page of a sheet."""
    student = f"?student={sheet.student.id}" if sheet.student else ""
    return f"/pieces/{sheet.piece.id}{student}{part}"


def for_script(request: Request) -> bool:
    """Whether a script asks, and not a form."""
    return "text/html" not in request.headers.get("accept", "")


def state(request: Request, sheet: Sheet) -> dict[str, Any]:
    """What a script needs to bring its page up to date."""
    prints = request.headers.get(PRINTS, "").split(",")
    values = slips(sheet)
    return {
        "systems": changed(sheet, prints),
        "prints": [d.print_ for d in sheet.drawings],
        "beside": render(request, "piece/beside.html", values),
        "numbers": [str(n) for n in values["numbers"]],
        "job": sheet.refingering.id if sheet.refingering else None,
    }


def answer(
    request: Request, shelf: Shelf, before: Sheet, done: Done[Any], words: str, part: str = ""
) -> Response:
    """Say that a change was made: to a script what is new, to a form the page again."""
    if not for_script(request):
        return go_to(request, address(before, part), words, done.undo)
    student = before.student.id if before.student else None
    after = open_sheet(shelf, wanted(shelf.studio, before.piece.id, student))
    values: dict[str, Any] = {"words": words, "undo": done.undo}
    if isinstance(after, Sheet):
        values |= state(request, after)
    return JSONResponse(values)
