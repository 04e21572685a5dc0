"""The page of a piece, and what its scripts ask for."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, JSONResponse, Response

from passagework.studio.records import StudentRecord
from passagework.web.deps import StudioOf
from passagework.web.pages import page, render
from passagework.web.piece.asked import SheetOf, ShelfOf, WantedOf, address, for_script, state
from passagework.web.piece.download_routes import router as downloads
from passagework.web.piece.edit_routes import router as edits
from passagework.web.piece.exercise_routes import SpotId, shown_spot
from passagework.web.piece.exercise_routes import router as exercises
from passagework.web.piece.sheet import Preparing, Sheet, open_sheet
from passagework.web.piece.sound_routes import router as sounds
from passagework.web.piece.view import later_systems, page_values, scope, spot_values

router = APIRouter(prefix="/pieces/{number}", tags=["piece"])


@router.get("")
def show(
    request: Request, studio: StudioOf, shelf: ShelfOf, asked: WantedOf, whole: bool = False
) -> Response:
    """The piece; the first time how far its preparation is. `whole` brings all the music at once."""
    sheet = open_sheet(shelf, asked)
    if isinstance(sheet, Preparing):
        values: dict[str, Any] = {"piece": sheet.piece, "student": sheet.student, "job": sheet.job}
        return page(request, "piece/preparing.html", values)
    return page(
        request, "piece/page.html", page_values(sheet, _students(studio, sheet), whole=whole)
    )


def _students(studio: Any, sheet: Sheet) -> list[StudentRecord]:
    """Those who study the piece first, then everybody else by name."""
    at_it = {s.student_id for s in studio.studies.of_piece(sheet.piece.id)}
    everybody = {s.id: s for s in studio.students.all()}
    if sheet.student:
        everybody.setdefault(sheet.student.id, sheet.student)
    return sorted(everybody.values(), key=lambda s: (s.id not in at_it, s.name.casefold()))


@router.get("/place")
def place(request: Request, sheet: SheetOf, spot: SpotId) -> Response:
    """One place in full: what the page does not hold from the start. For a form a page of its own."""
    values = {
        "piece": sheet.piece,
        "student": sheet.student,
        "scope": scope(sheet.student),
        "spot": spot_values(sheet, shown_spot(sheet, spot)),
        "back": address(sheet),
    }
    if for_script(request):
        return HTMLResponse(render(request, "piece/place.html", values))
    return page(request, "piece/place_page.html", values)


@router.get("/systems")
def systems(sheet: SheetOf) -> Response:
    """The music that the page does not bring with it."""
    return JSONResponse(
        {"systems": later_systems(sheet), "prints": [d.print_ for d in sheet.drawings]}
    )


@router.get("/state")
def refresh(request: Request, sheet: SheetOf) -> Response:
    """What has changed since the page was made: the drawings it does not have, and what stands beside."""
    return JSONResponse(state(request, sheet))


@router.get("/notes")
def notes(sheet: SheetOf) -> Response:
    """The notes in order: id, bar, onset in it, name, hand, fingers in print, fingers for this hand, why; and
    what the bars are called.
    """
    fixed, why = sheet.shown.fingers, sheet.fingers.document["why"]
    rows = [
        [
            i,
            row.anchor.bar,
            float(row.anchor.onset),
            row.anchor.pitch,
            row.name,
            row.hand,
            list(row.printed),
            list(fixed.get(i) or sheet.fingers.of(i)),
            "" if i in fixed else why.get(i, ""),
            i in fixed,
        ]
        for i, row in sheet.score.rows.items()
    ]
    return JSONResponse({"notes": rows, "bars": [bar[0] for bar in sheet.score.bars]})


for part in (edits, exercises, sounds, downloads):
    router.include_router(part)
