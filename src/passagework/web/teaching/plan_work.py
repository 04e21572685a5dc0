"""The plan as a worker makes it: pieces read, laid over with the teacher's edits, and shared out over the days."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING, Any

from passagework.teaching import stored
from passagework.teaching.plan import FORMAT, Plan, plan_all, replan
from passagework.teaching.skills import skill_values, skills_of
from passagework.teaching.student import PieceStudied, Result, Student
from passagework.web.jobs import Report

if TYPE_CHECKING:
    from passagework.exercises.exercise import Exercise
    from passagework.exercises.study import Study
    from passagework.spots.spot import Spot
    from passagework.teaching.edit_rows import Row
    from passagework.teaching.progress import ItemResult
    from passagework.teaching.work import PieceWork


@dataclass(frozen=True)
class PieceAsked:
    """A piece to be planned for."""

    id: str
    title: str
    data: bytes
    file_name: str
    performance: date | None
    edits: tuple[Row, ...] = ()


@dataclass(frozen=True)
class Unmeasured:
    """A piece that was studied, whose demands are still to be measured before it counts as evidence."""

    id: str
    title: str
    data: bytes
    file_name: str
    result: Result
    when: date


@dataclass(frozen=True)
class PlanAsked:
    """All that a plan is made of."""

    student: Student
    reach_cm: float
    pieces: tuple[PieceAsked, ...]
    today: date
    unmeasured: tuple[Unmeasured, ...] = ()
    before: dict[str, Any] | None = None
    """The plan that counted until now."""
    results: tuple[ItemResult, ...] = ()
    missed: tuple[date, ...] = ()


def plan_job(report: Report, asked: PlanAsked) -> dict[str, Any]:
    """The plan, as it is kept. Raises `ScoreError`, or `ValueError` for a piece without notes."""
    report(0.0, "Looking at what was studied")
    student = _with_evidence(asked.student, asked.unmeasured, asked.reach_cm)
    works = []
    for at, piece in enumerate(asked.pieces):
        report(0.1 + 0.6 * at / len(asked.pieces), f"Looking through {piece.title}")
        works.append(_work(piece, student, asked.reach_cm))
    report(0.7, "Sharing out the minutes")
    secure = skill_values(skills_of(student, asked.today))
    before = read_plan(asked.before)
    if before is None:
        plan = plan_all(works, student, secure, asked.today)
    else:
        plan = replan(
            before, student, secure, asked.today, results=asked.results, missed=asked.missed, works=works
        )  # fmt: skip
    return stored.write(plan, FORMAT)


def read_plan(body: Any) -> Plan | None:
    """A plan as it was kept; None for none, or for one of another version."""
    if body is None:
        return None
    try:
        return stored.read(body, Plan, FORMAT)
    except stored.StoredError:
        return None


def _with_evidence(student: Student, rows: Sequence[Unmeasured], reach_cm: float) -> Student:
    from passagework.score.errors import ScoreError
    from passagework.score.read import read_score
    from passagework.web.teaching.measured import measured

    more = []
    for row in rows:
        try:
            demands = measured(read_score(row.data, row.file_name).piece, reach_cm).demands
        except ScoreError:
            continue  # a piece that can no longer be read says nothing
        more.append(PieceStudied(row.id, row.title, demands, row.result, row.when))
    return replace(student, pieces=(*student.pieces, *more))


def _work(asked: PieceAsked, student: Student, reach_cm: float) -> PieceWork:
    from passagework.teaching.edit_rows import from_rows
    from passagework.teaching.edits import index_of, lay_over
    from passagework.teaching.work_of import piece_work
    from passagework.web.piece.hold import prepared
    from passagework.web.teaching.measured import measured

    preparation = prepared(asked.data, asked.file_name, student.hands)
    piece = preparation.piece
    shown = lay_over(preparation.spots, from_rows(asked.edits), index_of(piece))
    spots = [spot for spot in shown.spots if spot.rank]
    demands = measured(piece, reach_cm).demands
    return piece_work(
        asked.id, asked.title, preparation.context, spots, demands,
        exercises=_exercises(spots, preparation.study, shown.skipped),
        performance=asked.performance,
    )  # fmt: skip


def _exercises(
    spots: Sequence[Spot], study: Study, skipped: frozenset[tuple[str, str]]
) -> dict[str, tuple[Exercise, ...]]:
    """The exercise that is planned for each spot: the first that the teacher has not set aside."""
    from passagework.exercises.choose import exercises_for, first_exercise_for

    chosen: dict[str, tuple[Exercise, ...]] = {}
    for spot in spots:
        first, _ = first_exercise_for(spot, study)
        if first and (spot.id, first[0].technique) in skipped:
            first = exercises_for(spot, study)
        chosen[spot.id] = tuple(e for e in first if (spot.id, e.technique) not in skipped)[:1]
    return chosen
