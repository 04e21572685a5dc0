"""Making a student's plan anew, in a worker: at the teacher's wish, after a lesson, after a take."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, cast

from passagework.studio.errors import StudioError
from passagework.teaching.progress import ItemResult
from passagework.teaching.student import Result
from passagework.web import words
from passagework.web.jobs import Job, Jobs
from passagework.web.piece.sheet import effective
from passagework.web.teaching.evidence import Known, known_student
from passagework.web.teaching.measured import reach_of
from passagework.web.teaching.plan_work import PieceAsked, PlanAsked, Unmeasured, plan_job

if TYPE_CHECKING:
    from passagework.studio.records import StudyRecord
    from passagework.studio.studio import Studio


def plan_again(
    studio: Studio,
    jobs: Jobs,
    student: int,
    reason: str,
    *,
    results: Sequence[ItemResult] = (),
    missed: Sequence[date] = (),
    anew: bool = False,
    key: str = "",
) -> Job:
    """Begin to make the plan of a student's pieces at work; `anew` forgets how far everything was.

    `key` names the job of a plan that follows from something, for which it may be looked for.

    Raises `StudioError` where there is nothing to plan for.
    """
    known = known_student(studio, student)
    asked = plan_asked(studio, known, words.today(), tuple(results), tuple(missed), anew=anew)
    return jobs.submit(
        "plan", plan_job, (asked,), key if results or missed else f"plan:{student}",
        title=f"Planning for {known.record.name}", near=f"plan:{student}",
        keep=lambda body: studio.plans.add(student, None, body, reason),
    )  # fmt: skip


def plan_again_if_planned(
    studio: Studio,
    jobs: Jobs,
    student: int,
    reason: str,
    *,
    results: Sequence[ItemResult] = (),
    missed: Sequence[date] = (),
    key: str = "",
) -> Job | None:
    """The same for a student who has a plan; None for others."""
    if studio.plans.latest(student) is None:
        return None
    try:
        return plan_again(studio, jobs, student, reason, results=results, missed=missed, key=key)
    except StudioError:
        return None


def at_work(known: Known) -> list[StudyRecord]:
    """The pieces that the plan is for: each once, those with a day first."""
    rows = [s for s in known.studies if s.status == "learning" and s.in_library]
    rows.sort(key=lambda s: (s.performance_on is None, s.performance_on or date.max, s.id))
    found: dict[int, StudyRecord] = {}
    for row in rows:
        found.setdefault(row.piece_id, row)
    return list(found.values())


def plan_asked(
    studio: Studio,
    known: Known,
    today: date,
    results: tuple[ItemResult, ...] = (),
    missed: tuple[date, ...] = (),
    *,
    anew: bool = False,
) -> PlanAsked:
    """All that a plan is made of, from `today` on. Raises `StudioError` where there is nothing to plan for."""
    studies = at_work(known)
    if not studies:
        raise StudioError("no piece is at work", do="choose a piece first")
    if not known.record.weekly_minutes or not known.record.practice_days:
        raise StudioError(
            f"how much {known.record.name} practises is not written down",
            do="write the week's minutes and the days into the details",
        )
    before = None if anew else studio.plans.latest(known.record.id)
    return PlanAsked(
        student=known.student,
        reach_cm=reach_of(known.record),
        pieces=tuple(piece_asked(studio, s, known.record.id, today) for s in studies),
        today=today,
        unmeasured=_unmeasured(studio, known),
        before=dict(before.body) if before else None,
        results=results,
        missed=missed,
    )


def piece_asked(studio: Studio, study: StudyRecord, student: int, today: date) -> PieceAsked:
    """A piece with its file and the teacher's edits, as workers are handed it."""
    row = studio.pieces.get(study.piece_id)
    edits = effective(studio.edits.of_piece(study.piece_id, student))
    # A day that is past says nothing about the days to come.
    ahead = study.performance_on if study.performance_on and study.performance_on > today else None
    return PieceAsked(
        str(row.id), row.title, studio.pieces.score(row.id), row.file_name, ahead,
        tuple((e.kind, e.key, dict(e.payload)) for e in edits),
    )  # fmt: skip


def _unmeasured(studio: Studio, known: Known) -> tuple[Unmeasured, ...]:
    missing = {row.piece for row in known.missing}
    return tuple(
        Unmeasured(
            str(s.piece_id), s.piece_title, studio.pieces.score(s.piece_id),
            studio.pieces.get(s.piece_id).file_name, cast("Result", s.result), s.result_on,
        )
        for s in known.studies
        if s.piece_id in missing and s.result and s.result_on
    )  # fmt: skip
