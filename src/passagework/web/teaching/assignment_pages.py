"""The week's assignment: on the page, on one sheet of paper, with the teacher's own words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, Final, cast

from fastapi import APIRouter, HTTPException, Path, Query, Request
from starlette.responses import Response

from passagework.hands.hand import Hands
from passagework.studio.computed import ComputedKey
from passagework.studio.errors import NotFoundError, StudioError
from passagework.teaching.assignment import Assignment, assignment, week_of
from passagework.web import words
from passagework.web.deps import Id, JobsOf, StudioOf
from passagework.web.forms import Text
from passagework.web.library.notes import attachment
from passagework.web.notices import go_to
from passagework.web.pages import page
from passagework.web.teaching.assignment_work import PicturesAsked, pictures_job, pictures_of
from passagework.web.teaching.evidence import Known, known_student
from passagework.web.teaching.plan_work import read_plan
from passagework.web.teaching.planning import piece_asked

if TYPE_CHECKING:
    from passagework.engraving.draw import System
    from passagework.guide.assignment_fit import PaperName
    from passagework.studio.records import PlanRecord
    from passagework.studio.studio import Studio
    from passagework.web.jobs import Job, Jobs

router = APIRouter(prefix="/students", tags=["assignment"])

PATIENCE: Final = 20.0
"""Seconds that a sheet to be printed waits for its music; without it the words stand alone."""
PAPERS: Final = (("a4", "A4"), ("letter", "letter paper"))
NOTE: Final = "teacher_note"
"""Beside a plan stands the teacher's word for a week: ``{"text", "first"}``."""
PICTURES: Final = "assignment-pictures/1"


@dataclass(frozen=True)
class Week:
    """The week's assignment, and what it was made of."""

    known: Known
    record: PlanRecord
    model: Assignment

    @property
    def key(self) -> ComputedKey:
        """Where its pictures are kept."""
        return ComputedKey(f"plan:{self.record.uid}", PICTURES, self.model.first.isoformat())


@router.get("/{student}/assignment")
def show(request: Request, studio: StudioOf, jobs: JobsOf, student: Id) -> Response:
    """The week as the student gets it."""
    from passagework.guide.assignment_fit import HTML_FACE
    from passagework.guide.assignment_page import assignment_values

    week = _week(studio, student)
    if week is None:
        return page(request, "teaching/no_plan.html", {"student": studio.students.get(student)})
    data = studio.computed.get(week.key)
    pictures = pictures_of(data)
    context = {
        "student": week.known.record,
        "sheet": assignment_values(week.model, pictures, "a4", HTML_FACE),
        "note": week.model.teacher_note,
        "papers": PAPERS,
        "record": week.record,
        "engraving": None if data is not None else _engrave(studio, jobs, week),
    }
    return page(request, "teaching/assignment.html", context)


@router.post("/{student}/assignment")
def write_note(request: Request, studio: StudioOf, student: Id, note: Text = "") -> Response:
    """Keep the teacher's own words for this week."""
    week = _week(studio, student)
    if week is None:
        raise StudioError("there is no plan yet", do="make one first")
    body = {**week.record.body, NOTE: {"text": note.strip(), "first": week.model.first.isoformat()}}
    done = studio.plans.add(student, None, body, week.record.reason)
    # The music is that of the version before.
    data = studio.computed.get(week.key)
    if data is not None:
        studio.computed.put(Week(week.known, done.value, week.model).key, data)
    return go_to(request, f"/students/{student}/assignment", "Your words stand on it.", done.undo)


@router.get("/{student}/assignment.pdf")
def print_sheet(
    studio: StudioOf,
    jobs: JobsOf,
    student: Id,
    paper: Annotated[str, Query(max_length=20)] = "a4",
) -> Response:
    """One sheet to print."""
    from passagework.guide.assignment_page import assignment_pdf

    if paper not in dict(PAPERS):
        raise HTTPException(422, "The paper is A4 or letter.")
    week = _week(studio, student)
    if week is None:
        raise NotFoundError("there is no plan yet", do="make one first")
    data = studio.computed.get(week.key)
    if data is None:
        job = _engrave(studio, jobs, week)
        if job is not None:
            jobs.wait(job.id, PATIENCE)
        data = studio.computed.get(week.key)
    pdf = assignment_pdf(week.model, pictures_of(data), cast("PaperName", paper))
    name = f"{week.known.record.name} {week.model.first}.pdf"
    inline = attachment(name)["content-disposition"].replace("attachment", "inline", 1)
    return Response(pdf, media_type="application/pdf", headers={"content-disposition": inline})


@router.get("/{student}/assignment/{number}.svg")
def picture(studio: StudioOf, student: Id, number: Annotated[int, Path(ge=1, le=1000)]) -> Response:
    """The music of one line."""
    week = _week(studio, student)
    pictures = pictures_of(studio.computed.get(week.key)) if week else {}
    system: System | None = pictures.get(number)
    if system is None:
        raise HTTPException(404)
    return Response(system.svg, media_type="image/svg+xml")


def _week(studio: Studio, student: int) -> Week | None:
    """The week's assignment; None without a plan."""
    known = known_student(studio, student)
    record = studio.plans.latest(student)
    plan = read_plan(record.body) if record else None
    if record is None or plan is None:
        return None
    today = words.today()
    first, _ = week_of(today, known.student.lesson_weekday)
    note = _note(record.body.get(NOTE), first.isoformat())
    return Week(known, record, assignment(plan, known.student, today, teacher_note=note))


def _note(kept: Any, first: str) -> str:
    """The teacher's words, if they were written for this week."""
    if isinstance(kept, dict) and kept.get("first") == first:
        return str(kept.get("text", ""))
    return ""


def _engrave(studio: Studio, jobs: Jobs, week: Week) -> Job | None:
    """Begin to engrave the music of the week; None where there is none."""
    lines = tuple(line for line in week.model.lines if line.technique)
    if not lines:
        return None
    known = week.known
    wanted = {line.piece_id for line in lines}
    pieces = tuple(
        piece_asked(studio, s, known.record.id, week.model.first)
        for s in known.studies
        if str(s.piece_id) in wanted and s.in_library
    )
    asked = PicturesAsked(lines, pieces, known.record.hands or Hands())
    return jobs.submit(
        "assignment", pictures_job, (asked,), f"assignment:{week.key.name}",
        title="Engraving the music of the week", near=f"plan:{known.record.id}",
        keep=lambda data: studio.computed.put(week.key, data),
    )  # fmt: skip
