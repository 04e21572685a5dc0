"""Students listed, added, changed, put away, and taken out for good."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Form, Request
from starlette.responses import Response

from passagework.hands.care import CAUTIONS, MEASURING
from passagework.studio.errors import StudioError
from passagework.web.deps import Id, JobsOf, StudioOf
from passagework.web.forms import FormError, Line
from passagework.web.notices import go_to
from passagework.web.pages import page
from passagework.web.students.form import (
    AGE_CHOICES,
    DAY_CHOICES,
    FINGERS,
    GUESSES,
    StudentForm,
    filled,
)
from passagework.web.teaching.evidence import HEARD

router = APIRouter(prefix="/students", tags=["students"])


@router.get("")
def show_all(request: Request, studio: StudioOf) -> Response:
    """Everybody, by name."""
    students = studio.students.all()
    context = {
        "students": students,
        "studies": _at_work(studio),
        "away": studio.students.all(archived=True),
    }
    return page(request, "students/all.html", context)


def _at_work(studio: Any) -> dict[int, list[Any]]:
    """What every student is learning, by id."""
    rows: dict[int, list[Any]] = {}
    for study in studio.studies.all():
        if study.status == "learning":
            rows.setdefault(study.student_id, []).append(study)
    return rows


@router.get("/new")
def new(request: Request) -> Response:
    """An empty form."""
    return _form(request, StudentForm(), "/students")


@router.post("")
def add(request: Request, studio: StudioOf, form: Annotated[StudentForm, Form()]) -> Response:
    """Write a student down."""
    try:
        student = studio.students.add(form.details())
    except (FormError, StudioError) as error:
        return _form(request, form, "/students", str(error))
    return go_to(request, f"/students/{student.id}", f"{student.name} is written down.")


@router.get("/{student}/details")
def details(request: Request, studio: StudioOf, student: Id) -> Response:
    """The form as it stands."""
    known = studio.students.get(student)
    return _form(request, filled(known), f"/students/{student}/details", known=known)


@router.post("/{student}/details")
def change(
    request: Request, studio: StudioOf, student: Id, form: Annotated[StudentForm, Form()]
) -> Response:
    """Write down what has changed."""
    known = studio.students.get(student)
    try:
        done = studio.students.change(student, form.details(known))
    except (FormError, StudioError) as error:
        return _form(request, form, f"/students/{student}/details", str(error), known)
    return go_to(request, f"/students/{student}", f"{done.label}.", done.undo)


@router.post("/{student}/away")
def put_away(
    request: Request, studio: StudioOf, student: Id, back: Annotated[bool, Form()] = False
) -> Response:
    """Put a student away who comes no longer, or fetch one back."""
    done = studio.students.archive(student, archived=not back)
    return go_to(
        request, f"/students/{student}" if back else "/students", f"{done.label}.", done.undo
    )


@router.get("/{student}/delete")
def ask_to_delete(request: Request, studio: StudioOf, student: Id) -> Response:
    """What would be deleted, and what would remain, before it is done."""
    return _confirm(request, studio, student)


@router.post("/{student}/delete")
def delete(
    request: Request,
    studio: StudioOf,
    jobs: JobsOf,
    student: Id,
    name: Line = "",
    older: Line = "keep",
) -> Response:
    """Take a student out for good, once the name has been typed."""
    known = studio.students.get(student)
    if " ".join(name.split()) != known.name:
        return _confirm(
            request, studio, student, f"To delete, type the name as it is: {known.name}."
        )
    removal = studio.students.remove_for_good(student, known.name, older)
    # What was said at the foot of pages, and what workers gave back, may name the student.
    request.app.state.notices.clear()
    jobs.forget()
    HEARD.clear()
    return page(request, "students/deleted.html", {"name": known.name, "removal": removal})


def _confirm(request: Request, studio: Any, student: int, problem: str = "") -> Response:
    known = studio.students.get(student)
    context = {
        "student": known,
        "problem": problem,
        "takes": len(studio.takes.of_student(student)),
        "lessons": len(studio.lessons.of_student(student)),
        "backups": studio.backups.holding(known.uid),
    }
    return page(request, "students/delete.html", context, status=422 if problem else 200)


def _form(
    request: Request, form: StudentForm, action: str, problem: str = "", known: Any = None
) -> Response:
    context = {
        "form": form,
        "action": action,
        "problem": problem,
        "student": known,
        "ages": AGE_CHOICES,
        "days": DAY_CHOICES,
        "fingers": FINGERS,
        "guesses": GUESSES,
        "measuring": MEASURING,
        "cautions": CAUTIONS,
    }
    return page(request, "students/form.html", context, status=422 if problem else 200)
