"""Students: added, changed, put away, and taken out for good."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from uuid import uuid4

from sqlalchemy import select

from passagework.hands.hand import Hands
from passagework.studio import checks
from passagework.studio.backups import Backups
from passagework.studio.blobs import Blobs
from passagework.studio.computed import Computed
from passagework.studio.database import Database
from passagework.studio.records import Done, StudentDetails, StudentRecord
from passagework.studio.removal import KEEP, Removal, remove_student
from passagework.studio.rows import hand_more, student_record
from passagework.studio.tables_people import Student
from passagework.teaching.student import AGES, MOST_WEEKLY_MINUTES

LONGEST_LESSON_MINUTES = 600

LAST_WEEKDAY = 6


class Students:
    """The students of the studio."""

    def __init__(self, db: Database, takes: Blobs, backups: Backups, computed: Computed) -> None:
        self._db = db
        self._takes = takes
        self._backups = backups
        self._computed = computed

    def add(self, details: StudentDetails) -> StudentRecord:
        """A new student. It is no step of the undo log, which must not remember one who was taken out for good."""
        values = _checked(details)
        with self._db.write() as change:
            row = Student(uid=uuid4().hex, archived=False, added_at=change.now, **values)
            row.changed_at = change.now
            change.session.add(row)
            change.session.flush()
            return student_record(row)

    def get(self, student_id: int) -> StudentRecord:
        """A student by id; raises `NotFoundError`."""
        with self._db.read() as session:
            return student_record(checks.get_row(session, Student, student_id, "student"))

    def all(self, archived: bool = False) -> tuple[StudentRecord, ...]:
        """The students at work, or those put away, by name."""
        query = select(Student).where(Student.archived.is_(archived))
        with self._db.read() as session:
            found = [student_record(row) for row in session.scalars(query)]
        return tuple(sorted(found, key=lambda student: (student.name.casefold(), student.id)))

    def change(self, student_id: int, details: StudentDetails) -> Done[StudentRecord]:
        """Replace what is written about a student."""
        values = _checked(details)
        with self._db.write("Changed a student") as change:
            row = checks.get_row(change.session, Student, student_id, "student")
            change.label = f"Changed {row.name}"
            _set(row, values, change.now)
            record = student_record(row)
        return change.done(record)

    def archive(self, student_id: int, archived: bool = True) -> Done[StudentRecord]:
        """Put a student away who comes no longer, or fetch one back; nothing is lost by it."""
        with self._db.write("Put a student away") as change:
            row = checks.get_row(change.session, Student, student_id, "student")
            change.label = f"Put {row.name} away" if archived else f"Fetched {row.name} back"
            _set(row, {"archived": archived}, change.now)
            record = student_record(row)
        return change.done(record)

    def remove_for_good(self, student_id: int, confirm: str, older: str = KEEP) -> Removal:
        """Take a student out for good, with everything that is theirs; it cannot be taken back.

        `confirm` is the student's name as the teacher typed it. `older` says what becomes of backups that hold the student:
        ``"keep"`` (and say so), ``"clean"`` (take the student out of them), ``"delete"``.
        """
        return remove_student(
            self._db, self._takes, self._backups, self._computed, student_id, confirm, older
        )


def _set(row: Student, values: dict[str, Any], now: datetime) -> None:
    for name, value in values.items():
        setattr(row, name, value)
    row.changed_at = now


def _checked(details: StudentDetails) -> dict[str, Any]:
    days = sorted(set(details.practice_days))
    for day in (*days, details.lesson_weekday):
        checks.whole(day, 0, LAST_WEEKDAY, "a weekday")
    return {
        "name": checks.needed(
            checks.line(details.name, "the name", checks.NAME_LENGTH), "the name"
        ),
        "age_band": checks.one_of(details.age_band, ("", *AGES), "the age band"),
        **_hands_columns(details.hands),
        "weekly_minutes": checks.whole(
            details.weekly_minutes, 0, MOST_WEEKLY_MINUTES, "the week's practice", " minutes"
        ),
        "practice_days": days,
        "lesson_weekday": details.lesson_weekday,
        "lesson_time": details.lesson_time,
        "lesson_minutes": checks.whole(
            details.lesson_minutes, 1, LONGEST_LESSON_MINUTES, "the lesson's length", " minutes"
        ),
        "notes": checks.text(details.notes, "the note"),
    }


def _hands_columns(hands: Hands | None) -> dict[str, Any]:
    if hands is None:
        return {"reach_left_cm": None, "reach_right_cm": None, "hands_more": None}
    more = {"left": hand_more(hands.left), "right": hand_more(hands.right)}
    return {
        "reach_left_cm": float(hands.left.reach_cm),
        "reach_right_cm": float(hands.right.reach_cm),
        "hands_more": {side: held for side, held in more.items() if held} or None,
    }
