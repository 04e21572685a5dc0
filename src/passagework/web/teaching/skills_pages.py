"""A student's skills as evidence, and the teacher's word over it."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Path, Request
from starlette.responses import Response

from passagework.spots.table import all_kinds
from passagework.studio.errors import NotFoundError, StudioError
from passagework.teaching.skills import skills_of
from passagework.web import words
from passagework.web.deps import Id, JobsOf, StudioOf
from passagework.web.forms import FormError, Line, Text, number
from passagework.web.notices import go_to
from passagework.web.pages import page
from passagework.web.teaching.evidence import known_student
from passagework.web.teaching.measured import measure

router = APIRouter(prefix="/students", tags=["skills"])

TENTHS = 10
"""What is secure is spoken of in tenths of the scale."""
KindName = Annotated[str, Path(max_length=60)]


@router.get("/{student}/skills")
def show(request: Request, studio: StudioOf, jobs: JobsOf, student: Id) -> Response:
    """Kind by kind: the hardest that was played securely, what says so, and how sure it is."""
    return _page(request, studio, jobs, student)


@router.post("/{student}/skills/{kind}")
def overrule(
    request: Request,
    studio: StudioOf,
    jobs: JobsOf,
    student: Id,
    kind: KindName,
    value: Line = "",
    why: Text = "",
) -> Response:
    """Write down the teacher's own word."""
    _kind(kind)
    try:
        tenths = number(value, "What is secure", 0, TENTHS)
        if tenths is None:
            raise FormError("Say what is secure, from 0 (not at all yet) to 10.")
        done = studio.skills.put(student, kind, tenths / TENTHS, why)
    except (FormError, StudioError) as error:
        return _page(request, studio, jobs, student, str(error))
    return go_to(request, f"/students/{student}/skills", "Your word is written down.", done.undo)


@router.post("/{student}/skills/{kind}/withdraw")
def withdraw(request: Request, studio: StudioOf, student: Id, kind: KindName) -> Response:
    """Let the evidence speak again."""
    done = studio.skills.delete(student, kind)
    return go_to(request, f"/students/{student}/skills", "The evidence counts again.", done.undo)


def _kind(name: str) -> Any:
    for kind in all_kinds():
        if kind.name == name:
            return kind
    raise NotFoundError("there is no such kind of difficulty")


def _page(request: Request, studio: Any, jobs: Any, student: int, problem: str = "") -> Response:
    known = known_student(studio, student)
    skills = skills_of(known.student, words.today())
    rows = [(kind, skills[kind.name]) for kind in all_kinds()]
    context = {
        "student": known.record,
        "rows": [row for row in rows if row[1].known or row[1].against],
        "unknown": [row for row in rows if not (row[1].known or row[1].against)],
        "problem": problem,
        "measuring": measure(studio, jobs, known.missing),
    }
    return page(request, "teaching/skills.html", context, status=422 if problem else 200)
