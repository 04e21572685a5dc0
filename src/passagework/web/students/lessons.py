"""Lessons: what was done, and what was promised for the next time."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any

from fastapi import APIRouter, Form, Query, Request
from pydantic import Field
from starlette.responses import Response

from passagework.studio.errors import StudioError
from passagework.studio.records import LessonDetails
from passagework.web import words
from passagework.web.deps import Id, JobsOf, StudioOf
from passagework.web.forms import MOST_TICKS, FormError, Line, Text, clock, day, shown
from passagework.web.notices import go_to
from passagework.web.pages import page
from passagework.web.teaching.planning import plan_again_if_planned
from passagework.web.teaching.practised import days_of, practised, results_of

router = APIRouter(tags=["lessons"])

Names = Annotated[tuple[Annotated[str, Field(max_length=300)], ...], Form(max_length=MOST_TICKS)]


@router.get("/students/{student}/lessons")
def show_all(request: Request, studio: StudioOf, student: Id) -> Response:
    """Every lesson that was written down, the latest first."""
    context = {
        "student": studio.students.get(student),
        "lessons": studio.lessons.of_student(student),
    }
    return page(request, "students/lessons.html", context)


@router.get("/students/{student}/lessons/new")
def new(
    request: Request, studio: StudioOf, student: Id, on: Annotated[str, Query(max_length=40)] = ""
) -> Response:
    """An empty form, with the last promise beside it."""
    known = studio.students.get(student)
    try:
        chosen = day(on, "The day") or words.today()
    except FormError:
        chosen = words.today()
    typed = {"on": chosen, "at": shown(known.lesson_time), "promised": "", "notes": ""}
    return _form(request, studio, known, None, typed)


@router.post("/students/{student}/lessons")
def add(
    request: Request,
    studio: StudioOf,
    jobs: JobsOf,
    student: Id,
    on: Line = "",
    at: Line = "",
    promised: Text = "",
    notes: Text = "",
    item: Names = (),
    went: Names = (),
    missed: Names = (),
) -> Response:
    """Write a lesson down; how things went moves the plan."""
    known = studio.students.get(student)
    typed = {"on": on, "at": at, "promised": promised, "notes": notes}
    try:
        details = _details(student, typed, None)
        done = studio.lessons.add(details)
    except (FormError, StudioError) as error:
        return _form(request, studio, known, None, typed, str(error))
    job = plan_again_if_planned(
        studio, jobs, student, "after the lesson",
        results=results_of(item, went, details.on), missed=days_of(missed),
    )  # fmt: skip
    more = " The plan is being made again." if job else ""
    return go_to(request, f"/students/{student}", f"The lesson is written down.{more}", done.undo)


@router.get("/lessons/{lesson}")
def show(request: Request, studio: StudioOf, lesson: Id) -> Response:
    """A lesson as it was written down."""
    known = studio.lessons.get(lesson)
    typed = {
        "on": known.on,
        "at": shown(known.at),
        "promised": known.promised,
        "notes": known.notes,
    }
    return _form(request, studio, studio.students.get(known.student_id), known, typed)


@router.post("/lessons/{lesson}")
def change(
    request: Request,
    studio: StudioOf,
    lesson: Id,
    on: Line = "",
    at: Line = "",
    promised: Text = "",
    notes: Text = "",
) -> Response:
    """Write down what has changed."""
    known = studio.lessons.get(lesson)
    typed = {"on": on, "at": at, "promised": promised, "notes": notes}
    try:
        done = studio.lessons.change(lesson, _details(known.student_id, typed, known.assignment))
    except (FormError, StudioError) as error:
        student = studio.students.get(known.student_id)
        return _form(request, studio, student, known, typed, str(error))
    return go_to(request, f"/students/{known.student_id}", f"{done.label}.", done.undo)


@router.post("/lessons/{lesson}/delete")
def delete(request: Request, studio: StudioOf, lesson: Id) -> Response:
    """Take a lesson out."""
    known = studio.lessons.get(lesson)
    done = studio.lessons.delete(lesson)
    return go_to(request, f"/students/{known.student_id}/lessons", f"{done.label}.", done.undo)


def _details(student: int, typed: dict[str, Any], assignment: Any) -> LessonDetails:
    on: date | None = day(typed["on"], "The day of the lesson")
    if on is None:
        raise FormError("Say on which day the lesson was.")
    return LessonDetails(
        student_id=student,
        on=on,
        at=clock(typed["at"], "The time of the lesson"),
        promised=typed["promised"],
        notes=typed["notes"],
        assignment=assignment,
    )


def _form(
    request: Request,
    studio: Any,
    student: Any,
    lesson: Any,
    typed: dict[str, Any],
    problem: str = "",
) -> Response:
    before = [
        row for row in studio.lessons.of_student(student.id, limit=2)
        if lesson is None or row.id != lesson.id
    ]  # fmt: skip
    context = {
        "student": student,
        "lesson": lesson,
        "typed": typed,
        "last": before[0] if before else None,
        "problem": problem,
        "practised": practised(studio, student.id, words.today()) if lesson is None else None,
        "at_work": [s for s in studio.studies.of_student(student.id) if s.status == "learning"],
    }
    return page(request, "students/lesson.html", context, status=422 if problem else 200)
