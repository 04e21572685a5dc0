"""The takes of one student: brought in, and compared over the weeks."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from starlette.responses import Response

from passagework.listening.findings.table import all_finding_kinds
from passagework.web import words
from passagework.web.deps import LARGEST_ID, Id, StudioOf
from passagework.web.pages import page
from passagework.web.takes.arriving import pieces_to_choose
from passagework.web.takes.weeks import weeks_of

router = APIRouter(prefix="/students", tags=["takes"])

MOST_SHOWN = 200
"""The latest takes that are listed: some years of one a week."""


@router.get("/{student}/takes")
def show(
    request: Request,
    studio: StudioOf,
    student: Id,
    piece: Annotated[int | None, Query(ge=1, le=LARGEST_ID)] = None,
) -> Response:
    """Where takes are brought, and what came of earlier ones, piece by piece."""
    who = studio.students.get(student)
    takes = studio.takes.of_student(student, limit=MOST_SHOWN)
    titles = {k.name: k.title for k in all_finding_kinds()}
    choices = pieces_to_choose(studio, student)
    if piece is not None and piece not in dict(choices):
        choices.insert(0, (piece, studio.pieces.get(piece).title))
    by_piece: dict[int | None, list[Any]] = {}
    for take in takes:
        by_piece.setdefault(take.piece_id, []).append(take)
    groups = [
        (rows[0].piece_title or "Of no piece that is said", rows, weeks_of(rows, titles) if number else None)
        for number, rows in sorted(by_piece.items(), key=lambda g: (g[0] is None, g[0] != piece))
    ]  # fmt: skip
    context = {
        "student": who,
        "groups": groups,
        "titles": titles,
        "pieces": choices,
        "chosen": piece or (choices[0][0] if choices else ""),
        "today": words.today(),
    }
    return page(request, "takes/student.html", context)
