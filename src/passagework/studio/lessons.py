"""Lessons: what was promised, noted and set."""

from __future__ import annotations

from datetime import date
from typing import Any
from uuid import uuid4

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from passagework.studio import checks
from passagework.studio.database import Database
from passagework.studio.records import Done, LessonDetails, LessonRecord
from passagework.studio.rows import lesson_record
from passagework.studio.tables_people import Lesson, Student


class Lessons:
    """The lessons of all students."""

    def __init__(self, db: Database) -> None:
        self._db = db

    def add(self, details: LessonDetails) -> Done[LessonRecord]:
        """Write a lesson down."""
        values = _checked(details)
        with self._db.write("Wrote a lesson down") as change:
            student = checks.get_row(change.session, Student, details.student_id, "student")
            row = Lesson(uid=uuid4().hex, changed_at=change.now, student=student, **values)
            change.session.add(row)
            change.label = f"Wrote down a lesson of {student.name}"
            change.session.flush()
            record = lesson_record(row)
        return change.done(record)

    def get(self, lesson_id: int) -> LessonRecord:
        """A lesson by id; raises `NotFoundError`."""
        with self._db.read() as session:
            return lesson_record(checks.get_row(session, Lesson, lesson_id, "lesson"))

    def change(self, lesson_id: int, details: LessonDetails) -> Done[LessonRecord]:
        """Replace what is written about a lesson; its student stays."""
        values = _checked(details)
        with self._db.write("Changed a lesson") as change:
            row = checks.get_row(change.session, Lesson, lesson_id, "lesson")
            for name, value in values.items():
                setattr(row, name, value)
            row.changed_at = change.now
            change.label = f"Changed a lesson of {row.student.name}"
            record = lesson_record(row)
        return change.done(record)

    def delete(self, lesson_id: int) -> Done[None]:
        """Take a lesson out; it can come back for a while."""
        with self._db.write("Deleted a lesson") as change:
            row = checks.get_row(change.session, Lesson, lesson_id, "lesson")
            row.deleted_at = row.changed_at = change.now
            change.label = f"Deleted a lesson of {row.student.name}"
        return change.done(None)

    def of_student(self, student_id: int, limit: int | None = None) -> tuple[LessonRecord, ...]:
        """A student's lessons, the latest first."""
        query = (
            select(Lesson)
            .where(Lesson.student_id == student_id, Lesson.deleted_at.is_(None))
            .order_by(Lesson.on.desc(), Lesson.at.desc(), Lesson.id.desc())
            .options(joinedload(Lesson.student).load_only(Student.name))
        )
        with self._db.read() as session:
            return tuple(lesson_record(row) for row in session.scalars(query.limit(limit)))

    def on(self, day: date) -> tuple[LessonRecord, ...]:
        """The lessons written down for a day, in order of time."""
        with self._db.read() as session:
            return lessons_on(session, day)


def lessons_on(session: Session, day: date) -> tuple[LessonRecord, ...]:
    """The lessons of a day, in order of time."""
    query = (
        select(Lesson)
        .where(Lesson.on == day, Lesson.deleted_at.is_(None))
        .order_by(Lesson.at.is_(None), Lesson.at, Lesson.id)
        .options(joinedload(Lesson.student).load_only(Student.name))
    )
    return tuple(lesson_record(row) for row in session.scalars(query))


def _checked(details: LessonDetails) -> dict[str, Any]:
    assignment = details.assignment
    return {
        "on": details.on,
        "at": details.at,
        "promised": checks.text(details.promised, "what was promised"),
        "notes": checks.text(details.notes, "the note"),
        "assignment": None
        if assignment is None
        else checks.json_value(assignment, "the assignment"),
    }
