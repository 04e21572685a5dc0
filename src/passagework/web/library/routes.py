"""The list of pieces: searched, narrowed, sorted."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from starlette.responses import Response

from passagework.spots.table import all_kinds
from passagework.web.deps import StudioOf
from passagework.web.library.question import SORTS, Question, asked_or_plain
from passagework.web.pages import page

router = APIRouter(prefix="/library", tags=["library"])


@router.get("")
def show(request: Request, studio: StudioOf, asked: Annotated[Question, Query()]) -> Response:
    """What there is."""
    query, problem = asked_or_plain(asked)
    found = studio.library.search(query)
    context = {
        "asked": asked,
        "found": found,
        "problem": problem,
        "sorts": SORTS,
        "student": studio.students.get(asked.student) if asked.student else None,
        "choices": _choices(studio),
        "empty": not found.total and not asked.text and not asked.narrowed and not asked.deleted,
    }
    return page(request, "library/all.html", context, status=422 if problem else 200)


def _choices(studio: Any) -> dict[str, Any]:
    """What the fields offer: only what some piece has."""
    library = studio.library
    return {
        "composers": _named(library.composers(), "any composer"),
        "keys": _named(library.keys(), "any key"),
        "metres": _named(library.metres(), "any metre"),
        "tags": _named(library.tags(), "any tag"),
        "collections": _named(library.collections(), "any book"),
        "list_names": [(row.name, row.name) for row in studio.levels.lists()],
        "kinds": (("", "anything"), *((kind.name, kind.title) for kind in all_kinds())),
    }


def _named(rows: tuple[tuple[str, int], ...], nothing: str) -> tuple[tuple[str, str], ...]:
    return (("", nothing), *((name, f"{name} ({count})") for name, count in rows if name))
