"""The page of a day: who comes, what was promised, what there is to hear. A few questions, however many students there are."""

from __future__ import annotations

from collections import defaultdict
from datetime import date, timedelta

from sqlalchemy import func, select
from sqlalchemy.orm import Session, joinedload

from passagework.studio.database import Database
from passagework.studio.lessons import lessons_on
from passagework.studio.records import Day, DayEntry, LessonRecord, StudyRecord, TakeRecord
from passagework.studio.rows import lesson_record, student_record, study_records
from passagework.studio.tables_people import Lesson, Student, Study
from passagework.studio.takes import takes_to_hear

PERFORMANCE_DAYS = 28
"""Days ahead that performances are shown for: the last four weeks of a plan."""


def day_of(db: Database, on: date) -> Day:
    """The day's students, in order of time: those whose weekday it is, and those with a lesson written down for it."""
    with db.read() as session:
        today = {lesson.student_id: lesson for lesson in reversed(lessons_on(session, on))}
        weekday = (Student.lesson_weekday == on.weekday()) & Student.archived.is_(False)
        query = select(Student).where(weekday | Student.id.in_(today))
        students = [student_record(row) for row in session.scalars(query)]
        ids = [student.id for student in students]
        before = _lessons_before(session, on, ids)
        studies = _studies_at_work(session, ids)
        hear: dict[int, list[TakeRecord]] = defaultdict(list)
        for take in takes_to_hear(session):
            hear[take.student_id].append(take)
        performances = _performances(session, on)
    entries = []
    for student in students:
        lesson = today.get(student.id)
        entries.append(
            DayEntry(
                student=student,
                at=lesson.at if lesson is not None and lesson.at else student.lesson_time,
                lesson=lesson,
                last_lesson=before.get(student.id),
                to_hear=tuple(hear.pop(student.id, ())),
                studies=tuple(studies[student.id]),
            )
        )
    entries.sort(key=lambda e: (e.at is None, e.at, e.student.name.casefold(), e.student.id))
    others = sorted((t for row in hear.values() for t in row), key=lambda t: (t.recorded_at, t.id))
    return Day(
        on=on, entries=tuple(entries), others_to_hear=tuple(others), performances=performances
    )


def _lessons_before(session: Session, on: date, ids: list[int]) -> dict[int, LessonRecord]:
    """The last lesson of each student before a day."""
    before = (Lesson.student_id.in_(ids), Lesson.on < on, Lesson.deleted_at.is_(None))
    last = (
        select(Lesson.student_id, func.max(Lesson.on).label("last_on"))
        .where(*before)
        .group_by(Lesson.student_id)
        .subquery()
    )
    query = (
        select(Lesson)
        .join(last, (last.c.student_id == Lesson.student_id) & (last.c.last_on == Lesson.on))
        .where(*before)
        .order_by(Lesson.id)  # of two on one day the one written down last
        .options(joinedload(Lesson.student).load_only(Student.name))
    )
    return {row.student_id: lesson_record(row) for row in session.scalars(query)}


def _studies_at_work(session: Session, ids: list[int]) -> dict[int, list[StudyRecord]]:
    found: dict[int, list[StudyRecord]] = defaultdict(list)
    for record in study_records(
        session,
        Study.student_id.in_(ids),
        Study.status == "learning",
        order=(Study.performance_on.is_(None), Study.performance_on, Study.id),
    ):
        found[record.student_id].append(record)
    return found


def _performances(session: Session, on: date) -> tuple[StudyRecord, ...]:
    last = min(on.toordinal() + PERFORMANCE_DAYS, date.max.toordinal())
    return tuple(
        study_records(
            session,
            Study.performance_on >= on,
            Study.performance_on <= on + timedelta(days=last - on.toordinal()),
            Study.status.in_(("planned", "learning", "kept")),
            order=(Study.performance_on, Study.id),
        )
    )
