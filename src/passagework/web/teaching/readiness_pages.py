"""Is this piece right for this student now."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import Response

from passagework.teaching.readiness import readiness
from passagework.teaching.skills import skills_of
from passagework.web import words
from passagework.web.deps import Id, JobsOf, StudioOf
from passagework.web.pages import page
from passagework.web.teaching.evidence import known_student
from passagework.web.teaching.measured import Wanted, known, measure, reach_of
from passagework.web.teaching.waiting import waiting_page

router = APIRouter(prefix="/students", tags=["readiness"])


@router.get("/{student}/ready/{piece}")
def show(request: Request, studio: StudioOf, jobs: JobsOf, student: Id, piece: Id) -> Response:
    """Kind by kind, with the bars that decide and what to put in place first."""
    who = known_student(studio, student)
    target = studio.pieces.get(piece)
    wanted = Wanted(target.id, target.hash, reach_of(who.record))
    found, missing = known(studio, [wanted])
    running = measure(studio, jobs, [*missing, *who.missing])
    if running:
        return waiting_page(
            request, running, f"Is {target.title} right for {who.record.name} now",
            f"/students/{student}/ready/{piece}",
        )  # fmt: skip
    skills = skills_of(who.student, words.today())
    verdict = readiness(found[piece].demands, skills)
    context: dict[str, Any] = {
        "student": who.record,
        "piece": target,
        "ready": verdict,
        "where": found[piece].where,
        "groups": [
            (name, verdict.of(name)) for name in ("too far", "not known", "step up", "secure")
        ],
        "study": next((s for s in who.studies if s.piece_id == piece), None),
    }
    return page(request, "teaching/readiness.html", context)
