"""Studies: which student works, or worked, at which piece, and what came of it."""

from __future__ import annotations

from typing import Any
from uuid import uuid4

from sqlalchemy import ColumnElement
from sqlalchemy.orm import Session

from passagework.studio import checks
from passagework.studio.database import Database
from passagework.studio.records import (
    STUDY_RESULTS,
    STUDY_STATUSES,
    Done,
    StudyDetails,
    StudyRecord,
)
from passagework.studio.rows import piece_title, study_records
from passagework.studio.tables_people import Student, Study
from passagework.studio.tables_pieces import Piece

LATEST_FIRST = (Study.since.is_(None), Study.since.desc(), Study.id.desc())


class Studies:
    """The studies of all students."""

    def __init__(self, db: Database) -> None:
        self._db = db

    def add(self, details: StudyDetails) -> Done[StudyRecord]:
        """A student takes up a piece. The same piece may be taken up again later."""
        values = _checked(details)
        with self._db.write("Gave a piece to a student") as change:
            student = checks.get_row(change.session, Student, details.student_id, "student")
            piece = checks.get_row(change.session, Piece, details.piece_id, "piece")
            row = Study(uid=uuid4().hex, changed_at=change.now, student=student, piece=piece)
            for name, value in values.items():
                setattr(row, name, value)
            change.session.add(row)
            change.label = f"Gave {piece_title(piece)} to {student.name}"
            record = _record(change.session, row)
        return change.done(record)

    def get(self, study_id: int) -> StudyRecord:
        """A study by id; raises `NotFoundError`."""
        with self._db.read() as session:
            return _record(session, checks.get_row(session, Study, study_id, "study"))

    def change(self, study_id: int, details: StudyDetails) -> Done[StudyRecord]:
        """Replace what is written about a study; its student and piece stay."""
        values = _checked(details)
        with self._db.write("Changed a study") as change:
            row = checks.get_row(change.session, Study, study_id, "study")
            for name, value in values.items():
                setattr(row, name, value)
            row.changed_at = change.now
            change.label = f"Changed {piece_title(row.piece)} of {row.student.name}"
            record = _record(change.session, row)
        return change.done(record)

    def delete(self, study_id: int) -> Done[None]:
        """Take a study out, as if it had not been."""
        with self._db.write("Took a piece from a student") as change:
            row = checks.get_row(change.session, Study, study_id, "study")
            change.label = f"Took {piece_title(row.piece)} from {row.student.name}"
            change.session.delete(row)
        return change.done(None)

    def of_student(self, student_id: int) -> tuple[StudyRecord, ...]:
        """A student's studies, the latest first."""
        return self._found(Study.student_id == student_id)

    def of_piece(self, piece_id: int) -> tuple[StudyRecord, ...]:
        """Who studies or studied a piece, the latest first."""
        return self._found(Study.piece_id == piece_id)

    def all(self) -> tuple[StudyRecord, ...]:
        """Every study, the latest first."""
        return self._found()

    def _found(self, *conditions: ColumnElement[bool]) -> tuple[StudyRecord, ...]:
        with self._db.read() as session:
            return tuple(study_records(session, *conditions, order=LATEST_FIRST))


def _record(session: Session, row: Study) -> StudyRecord:
    session.flush()
    (record,) = study_records(session, Study.id == row.id, order=())
    return record


def _checked(details: StudyDetails) -> dict[str, Any]:
    return {
        "status": checks.one_of(details.status, STUDY_STATUSES, "the status"),
        "since": details.since,
        "performance_on": details.performance_on,
        "result": checks.one_of(details.result, STUDY_RESULTS, "the result"),
        "result_on": details.result_on,
        "notes": checks.text(details.notes, "the note"),
    }
