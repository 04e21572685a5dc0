"""The exercises of a spot, and other fingerings of a passage: worked out when first asked for."""

from __future__ import annotations

from typing import Annotated, Any, Final

from fastapi import APIRouter, HTTPException, Query, Request
from markupsafe import Markup
from starlette.responses import HTMLResponse, JSONResponse, Response

from passagework.engraving.together import characters
from passagework.spots.spot import Spot
from passagework.teaching.edits import OWN_KIND, SkippedExercise, find_spot
from passagework.web.pages import render
from passagework.web.piece import work
from passagework.web.piece.asked import SheetOf, ShelfOf
from passagework.web.piece.edit_routes import GONE, LONGEST_NAME
from passagework.web.piece.sheet import Sheet
from passagework.web.piece.shelf import Shelf, digest

router = APIRouter()

SpotId = Annotated[str, Query(max_length=LONGEST_NAME)]
NoteId = Annotated[str, Query(max_length=LONGEST_NAME)]
MOST_BARS: Final = 16
"""Bars of the teacher's choice for which exercises are written; a longer place is practised in parts."""


@router.get("/exercises")
def exercises(request: Request, shelf: ShelfOf, sheet: SheetOf, spot: SpotId) -> Response:
    """The exercises as a part of the page; 202 with a job while they are being written."""
    place = shown_spot(sheet, spot)
    what, document = exercises_of(shelf, sheet, place)
    if document is None:
        return JSONResponse({"job": begin(shelf, sheet, place).id}, 202)
    slug = f"d{digest(spot)}-"
    signs = {
        k: v for k, v in document["outlines"].items() if k not in sheet.score.document["outlines"]
    }
    left_out = {t for s, t in sheet.shown.skipped if s == spot}
    titles = {e["technique"]: e["title"] for e in document["exercises"]}
    rows = [
        e | {"at": at, "steps": [_step(s, slug) for s in e["steps"]]}
        for at, e in enumerate(document["exercises"])
        if e["technique"] not in left_out
    ]
    values: dict[str, Any] = {
        "piece": sheet.piece,
        "student": sheet.student,
        "spot": spot,
        "own": place.kind == OWN_KIND,
        "exercises": rows,
        "troubles": document["troubles"],
        "signs": Markup(characters(signs)) if signs else "",
        "what": what,
        "left_out": [
            {"edit": record.id, "title": titles[edit.technique]}
            for edit, record in sheet.edits
            if isinstance(edit, SkippedExercise)
            and edit.technique in titles
            and find_spot(sheet.places.spots, edit.spot, sheet.score.index) == spot
        ],
    }
    return HTMLResponse(render(request, "piece/exercises.html", values))


def exercises_of(shelf: Shelf, sheet: Sheet, place: Spot) -> tuple[str, Any]:
    """What the document of a spot's exercises is called, and the document; None where it is not there."""
    if place.kind == OWN_KIND:
        focus = place.focus
        what = f"exercises/bars/{focus.first_bar}-{focus.last_bar}-{place.hand}"
    else:
        what = f"exercises/spot/{place.id}"
    what += f"/{digest(repr(sheet.whose.fixed))}" if sheet.whose.fixed else ""
    return what, shelf.document(sheet.whose, what)


def begin(shelf: Shelf, sheet: Sheet, place: Spot) -> Any:
    """Begin to write the exercises of a spot."""
    what, _ = exercises_of(shelf, sheet, place)
    title = f"Exercises for {place.wording.title}"
    if place.kind != OWN_KIND:
        return shelf.work(sheet.whose, what, work.exercises, (place.id,), title=title)
    focus = place.focus
    last = min(focus.last_bar, focus.first_bar + MOST_BARS - 1)
    more = (focus.first_bar, last, place.hand)
    return shelf.work(sheet.whose, what, work.exercises_of_bars, more, title=title)


@router.get("/fingerings")
def other_fingerings(
    shelf: ShelfOf,
    sheet: SheetOf,
    first: NoteId,
    last: NoteId,
    job: Annotated[str, Query(max_length=40)] = "",
) -> Response:
    """Other fingerings from one note to another; 202 with a job while they are tried."""
    if job:
        found = shelf.jobs.result(job)
        if isinstance(found, dict) and "ways" in found:
            names = {i: row.name for i, row in sheet.score.rows.items()}
            ways = [
                w | {"names": [names.get(i, "") for i, _ in w["fingers"]]} for w in found["ways"]
            ]
            return JSONResponse(found | {"ways": ways})
    rows = sheet.score.rows
    if first not in rows or last not in rows:
        raise HTTPException(404, "These notes are not in the piece any more. Load the page again.")
    if rows[first].hand != rows[last].hand:
        raise HTTPException(422, "Choose notes of one hand.")
    begun = shelf.work(
        sheet.whose,
        f"fingerings/{first} {last}",
        work.other_fingerings,
        (first, last),
        title="Other fingerings",
        keep=False,
    )
    return JSONResponse({"job": begun.id}, 202)


def shown_spot(sheet: Sheet, spot: str) -> Spot:
    """A spot that the page shows. Raises `HTTPException` 404 where there is none."""
    found = next((s for s in sheet.shown.spots if s.id == spot), None)
    if found is None:
        raise HTTPException(404, GONE)
    return found


def _step(step: dict[str, Any], slug: str) -> dict[str, Any]:
    """A step for the template, its ids unique in the page."""
    systems = [
        [Markup(svg.replace('<g id="', f'<g id="{slug}')), share] for svg, share in step["systems"]
    ]
    return step | {"systems": systems}
