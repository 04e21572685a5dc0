"""What there is to learn in real and composed pieces."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest

from passagework.demands.measure import measure_demands
from passagework.exercises.choose import first_exercise_for
from passagework.exercises.study import Study
from passagework.score import Reading, read_score
from passagework.spots import Context, find_spots
from passagework.teaching.assignment import assignment
from passagework.teaching.plan import plan_all
from passagework.teaching.readiness import readiness
from passagework.teaching.skills import skill_values, skills_of
from passagework.teaching.student import PieceStudied, Student
from passagework.teaching.work import PieceWork
from passagework.teaching.work_of import LONGEST_PART, piece_work, with_exercises
from tests.conftest import real_scores
from tests.teaching.make import TODAY

NAMES = ("paper-boat", "lamplighter", "evening-ferry")
ADA = Student("Ada", "adult", weekly_minutes=240, practice_days=frozenset({0, 1, 3, 5}), lesson_weekday=2)  # fmt: skip


def work_of(reading: Reading, name: str) -> PieceWork:
    context = Context(reading.piece)
    spots = [s for s in find_spots(context) if s.rank]
    demands = measure_demands(context)
    work = piece_work(name, name, context, spots, demands, performance=TODAY + timedelta(weeks=12))
    assert [s.id for s in work.spots] == [s.id for s in spots]
    for row in work.spots:
        kind = demands.kinds[row.kind]
        assert min(kind.typical, kind.hardest) <= row.demand <= kind.hardest
    return work


def check(work: PieceWork, bars: int) -> None:
    """Every bar is in one section, sections are short enough to be learned, and the spots lie in the piece."""
    covered = [b for s in work.sections for b in s.bars]
    assert covered == list(range(bars))
    assert all(len(s.bars) <= LONGEST_PART for s in work.sections)
    assert all(0 <= b < bars for s in work.spots for b in s.bars)
    assert work.seconds >= max(s.seconds for s in work.sections)


@pytest.mark.parametrize("name", NAMES)
def test_the_composed_pieces(demo: Callable[[str], Reading], name: str) -> None:
    reading = demo(name)
    work = work_of(reading, name)
    check(work, len(reading.piece.bars))
    plan = plan_all([work], ADA, {}, TODAY)
    assert plan.suffices  # twelve weeks of four hours are enough for any of them


def test_exercises_can_be_added_later(demo: Callable[[str], Reading]) -> None:
    reading = demo("lamplighter")
    context = Context(reading.piece)
    spots = [s for s in find_spots(context) if s.rank]
    study = Study(context, reading.notation)
    built = {s.id: first_exercise_for(s, study)[0] for s in spots}
    work = with_exercises(work_of(reading, "p"), built)
    assert all(s.exercises and s.exercises[0].steps for s in work.spots)
    for row in work.spots:
        assert [x.title for x in row.exercises[0].steps] == [
            x.title for x in built[row.id][0].steps
        ]
    week = assignment(plan_all([work], ADA, {}, TODAY), ADA, TODAY)
    assert any(line.steps and line.technique for line in week.lines)


def test_from_the_pieces_studied_to_a_plan(demo: Callable[[str], Reading]) -> None:
    """The easy piece is ready for who plays the hard one; the plan of the hard one shrinks when the easy is secure."""
    profile = {n: measure_demands(Context(demo(n).piece)) for n in NAMES}
    hard = PieceStudied("e", "Evening Ferry", profile["evening-ferry"], "secure", TODAY)
    easy = PieceStudied("b", "Paper Boat", profile["paper-boat"], "secure", TODAY)
    knows_hard = skills_of(Student("Ada", pieces=(hard,)), TODAY)
    knows_easy = skills_of(Student("Ada", pieces=(easy,)), TODAY)
    assert readiness(profile["evening-ferry"], knows_hard).verdict == "secure"
    assert readiness(profile["lamplighter"], knows_hard).verdict in ("secure", "step up")
    assert readiness(profile["evening-ferry"], knows_easy).verdict != "secure"
    work = work_of(demo("evening-ferry"), "e")
    needs = [
        plan_all([work], ADA, skill_values(skills), TODAY).needs[0].needed
        for skills in (knows_hard, knows_easy)
    ]
    assert needs[0] < needs[1]


@pytest.mark.parametrize("path", real_scores()[::5], ids=lambda p: p.stem)
def test_real_scores(path: Path) -> None:
    reading = read_score(path.read_bytes(), path.name)
    work = work_of(reading, path.stem)
    check(work, len(reading.piece.bars))
    plan_all([work], ADA, {}, TODAY)


def test_a_piece_without_notes_is_refused(demo: Callable[[str], Reading]) -> None:
    from dataclasses import replace

    piece = replace(demo("paper-boat").piece, notes=())
    asked = measure_demands(Context(demo("paper-boat").piece))
    with pytest.raises(ValueError, match="nothing to play"):
        piece_work("p", "Empty", Context(piece), (), asked)
