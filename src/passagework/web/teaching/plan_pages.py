"""A student's plan: shown, made, made anew."""

from __future__ import annotations

from datetime import date
from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import Response

from passagework.studio.errors import StudioError
from passagework.web import words
from passagework.web.deps import Id, JobsOf, StudioOf
from passagework.web.forms import Line
from passagework.web.notices import go_to
from passagework.web.pages import page
from passagework.web.teaching.evidence import known_student
from passagework.web.teaching.plan_view import view
from passagework.web.teaching.plan_work import read_plan
from passagework.web.teaching.planning import at_work, plan_again

router = APIRouter(prefix="/students", tags=["plan"])

WEEKS_SHOWN = 2
"""Weeks that are shown day by day at once; the others on asking."""


@router.get("/{student}/plan")
def show(request: Request, studio: StudioOf, jobs: JobsOf, student: Id) -> Response:
    """The plan that counts."""
    return _page(request, studio, jobs, student)


@router.post("/{student}/plan")
def make(
    request: Request, studio: StudioOf, jobs: JobsOf, student: Id, anew: Line = ""
) -> Response:
    """Make it, or make it again."""
    reason = "made from the beginning" if anew else "at your wish"
    try:
        job = plan_again(studio, jobs, student, reason, anew=bool(anew))
    except StudioError as error:
        return _page(request, studio, jobs, student, str(error))
    return go_to(request, f"/jobs/{job.id}?then=/students/{student}/plan")


def _page(request: Request, studio: Any, jobs: Any, student: int, problem: str = "") -> Response:
    known = known_student(studio, student)
    record = studio.plans.latest(student)
    plan = read_plan(record.body) if record else None
    studies = at_work(known)
    context = {
        "student": known.record,
        "record": record,
        "view": view(plan, words.today()) if plan else None,
        "at_work": studies,
        "changed": plan is not None and _changed(plan, studies),
        "weeks_shown": WEEKS_SHOWN,
        "problem": f"{problem[:1].upper()}{problem[1:]}." if problem else "",
        "making": jobs.find(f"plan:{student}"),
    }
    return page(request, "teaching/plan.html", context, status=422 if problem else 200)


def _changed(plan: Any, studies: list[Any]) -> bool:
    """Whether the pieces at work, or their days, are others than the plan's."""
    today = words.today()

    def ahead(day: date | None) -> date | None:
        return day if day is not None and day > today else None

    planned = {work.piece_id: ahead(work.performance) for work in plan.works}
    return planned != {str(s.piece_id): ahead(s.performance_on) for s in studies}
