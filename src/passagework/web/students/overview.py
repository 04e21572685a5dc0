"""A student's own page: what is at work, what was promised, what has been studied."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Form, Request
from starlette.responses import Response

from passagework.studio.errors import StudioError
from passagework.studio.records import STUDY_RESULTS, STUDY_STATUSES, StudyDetails
from passagework.web import words
from passagework.web.deps import LARGEST_ID, Id, StudioOf
from passagework.web.forms import FormError, Line, Text, day
from passagework.web.notices import go_to, local_path
from passagework.web.pages import page

router = APIRouter(prefix="/students", tags=["students"])

LAST_LESSONS = 3
STATUS_WORDS = {
    "planned": "to come",
    "learning": "at work",
    "kept": "kept in the fingers",
    "finished": "finished",
    "dropped": "given up",
}
RESULT_WORDS = {
    "": "open",
    "secure": "secure: plays it, and would again",
    "ok": "well enough",
    "shaky": "shaky",
    "dropped": "given up",
}
STATUSES = tuple((name, STATUS_WORDS[name]) for name in STUDY_STATUSES)
RESULTS = tuple((name, RESULT_WORDS[name]) for name in STUDY_RESULTS)


@router.get("/{student}")
def show(request: Request, studio: StudioOf, student: Id) -> Response:
    """Everything at a glance."""
    known = studio.students.get(student)
    studies = studio.studies.of_student(student)
    context = {
        "student": known,
        "at_work": [s for s in studies if s.status in ("learning", "planned")],
        "before": [s for s in studies if s.status not in ("learning", "planned")],
        "statuses": dict(STATUSES),
        "results": {**RESULT_WORDS, "": "", "secure": "secure"},
        "lessons": studio.lessons.of_student(student, limit=LAST_LESSONS),
        "to_hear": [t for t in studio.takes.of_student(student) if not t.heard_by_teacher],
        "today": words.today(),
    }
    return page(request, "students/overview.html", context)


@router.post("/{student}/studies")
def take_up(
    request: Request,
    studio: StudioOf,
    student: Id,
    piece: Annotated[int, Form(ge=1, le=LARGEST_ID)],
    status: Line = "learning",
    performance_on: Line = "",
) -> Response:
    """Give a piece to a student."""
    try:
        details = StudyDetails(
            student_id=student,
            piece_id=piece,
            status=status,
            since=words.today() if status == "learning" else None,
            performance_on=day(performance_on, "The day of the performance"),
        )
        done = studio.studies.add(details)
    except FormError as error:
        raise StudioError(str(error)) from None
    return go_to(request, f"/students/{student}", f"{done.label}.", done.undo)


@router.get("/{student}/studies/{study}")
def show_study(request: Request, studio: StudioOf, student: Id, study: Id) -> Response:
    """The form of what is written about a piece with a student."""
    known = studio.studies.get(study)
    return _study_form(request, studio, student, known, _as_typed(known))


@router.post("/{student}/studies/{study}")
def change_study(
    request: Request,
    studio: StudioOf,
    student: Id,
    study: Id,
    status: Line = "",
    since: Line = "",
    performance_on: Line = "",
    result: Line = "",
    result_on: Line = "",
    notes: Text = "",
) -> Response:
    """Write down how it goes."""
    known = studio.studies.get(study)
    typed = {
        "status": status,
        "since": since,
        "performance_on": performance_on,
        "result": result,
        "result_on": result_on,
        "notes": notes,
    }
    try:
        when = day(result_on, "The day of the result")
        details = StudyDetails(
            student_id=known.student_id,
            piece_id=known.piece_id,
            status=status,
            since=day(since, "The first day"),
            performance_on=day(performance_on, "The day of the performance"),
            result=result,
            # A result is evidence only with a day: without one it is today's.
            result_on=(when or words.today()) if result else None,
            notes=notes,
        )
        done = studio.studies.change(study, details)
    except (FormError, StudioError) as error:
        return _study_form(request, studio, student, known, typed, str(error))
    return go_to(request, f"/students/{known.student_id}", f"{done.label}.", done.undo)


@router.post("/{student}/studies/{study}/delete")
def delete_study(
    request: Request, studio: StudioOf, student: Id, study: Id, back: Line = ""
) -> Response:
    """Take a piece from a student, as if it had not been."""
    done = studio.studies.delete(study)
    return go_to(request, local_path(back, f"/students/{student}"), f"{done.label}.", done.undo)


def _as_typed(study: Any) -> dict[str, Any]:
    names = ("status", "since", "performance_on", "result", "result_on", "notes")
    return {name: getattr(study, name) for name in names}


def _study_form(
    request: Request,
    studio: Any,
    student: int,
    study: Any,
    typed: dict[str, Any],
    problem: str = "",
) -> Response:
    context = {
        "student": studio.students.get(student),
        "study": study,
        "typed": typed,
        "statuses": STATUSES,
        "results": RESULTS,
        "problem": problem,
    }
    return page(request, "students/study.html", context, status=422 if problem else 200)
