"""Takes: what a student played, as it came in, and what listening made of it."""

from __future__ import annotations

from typing import Any
from uuid import uuid4

from sqlalchemy import Select, select
from sqlalchemy.orm import Session, joinedload

from passagework.studio import checks
from passagework.studio.blobs import Blobs
from passagework.studio.database import Database
from passagework.studio.errors import StudioError
from passagework.studio.records import (
    TAKE_KINDS,
    TAKE_STATUSES,
    Done,
    Json,
    TakeDetails,
    TakeRecord,
)
from passagework.studio.rows import take_record
from passagework.studio.tables_people import Student, Take, TakeResult
from passagework.studio.tables_pieces import Piece

MOST_BYTES = 512_000_000
"""Largest take kept: over an hour of uncompressed stereo."""

NAMES = (
    joinedload(Take.student).load_only(Student.name),
    joinedload(Take.piece).load_only(Piece.title, Piece.own_title, Piece.file_name),
)
"""Of student and piece only what a take is shown with."""


class Takes:
    """The takes of all students."""

    def __init__(self, db: Database, files: Blobs) -> None:
        self._db = db
        self._files = files

    def add(self, data: bytes, details: TakeDetails) -> Done[TakeRecord]:
        """Keep a take; it waits to be listened to."""
        if not data:
            raise StudioError("the take is empty", do="record it again")
        if len(data) > MOST_BYTES:
            raise StudioError(f"the take is larger than {MOST_BYTES // 1_000_000} MB")
        values = _checked(details)
        with self._db.write("Added a take") as change:
            student = checks.get_row(change.session, Student, details.student_id, "student")
            piece = _piece(change.session, details.piece_id)
            recorded_at = values.pop("recorded_at") or change.now
            row = Take(
                uid=uuid4().hex,
                hash=self._files.put(data),
                size=len(data),
                student=student,
                piece=piece,
                recorded_at=recorded_at,
                status="waiting",
                summary={},
                changed_at=change.now,
                **values,
            )
            change.session.add(row)
            change.label = f"Added a take of {student.name}"
            change.session.flush()
            record = take_record(row)
        return change.done(record)

    def get(self, take_id: int) -> TakeRecord:
        """A take by id; raises `NotFoundError`."""
        with self._db.read() as session:
            return take_record(checks.get_row(session, Take, take_id, "take"))

    def file(self, take_id: int) -> bytes:
        """The take's file, checked against its hash."""
        return self._files.get(self.get(take_id).hash)

    def change(self, take_id: int, details: TakeDetails) -> Done[TakeRecord]:
        """Replace what is known of a take: student, piece, moment, notes. Another piece means listening again."""
        values = _checked(details)
        with self._db.write("Changed a take") as change:
            session = change.session
            row = checks.get_row(session, Take, take_id, "take")
            row.student = checks.get_row(session, Student, details.student_id, "student")
            row.student_id = row.student.id
            if details.piece_id != row.piece_id:
                row.piece = _piece(session, details.piece_id)
                row.piece_id = details.piece_id
                forget_result(session, row)
            for name, value in values.items():
                if name != "recorded_at" or value is not None:
                    setattr(row, name, value)
            row.changed_at = change.now
            change.label = f"Changed a take of {row.student.name}"
            record = take_record(row)
        return change.done(record)

    def set_result(
        self, take_id: int, status: str, summary: Json, result: Json | None, version: int = 1
    ) -> TakeRecord:
        """Write down what listening found (no step of the undo log).

        `summary` is what lists show; `result` is everything, for the report, in the form that `version` names.
        """
        checks.one_of(status, TAKE_STATUSES, "the status")
        short = checks.json_value(summary, "the summary")
        body = None if result is None else checks.json_value(result, "the result")
        with self._db.write() as change:
            row = checks.get_row(change.session, Take, take_id, "take")
            row.status, row.summary, row.changed_at = status, short, change.now
            held = change.session.get(TakeResult, row.id)
            if held is not None:
                change.session.delete(held)
                change.session.flush()
            if body is not None:
                change.session.add(TakeResult(take_id=row.id, version=version, body=body))
            return take_record(row)

    def result(self, take_id: int, version: int | None = None) -> Json | None:
        """Everything that listening found; None while there is nothing, or nothing in the form of `version`."""
        with self._db.read() as session:
            row = checks.get_row(session, Take, take_id, "take")
            held = session.get(TakeResult, row.id)
            if held is None or (version is not None and held.version != version):
                return None
            body: Json = held.body
            return body

    def heard(self, take_id: int, heard: bool = True) -> Done[TakeRecord]:
        """The teacher has listened to a take, or wants to again."""
        with self._db.write("Heard a take" if heard else "Set a take back to be heard") as change:
            row = checks.get_row(change.session, Take, take_id, "take")
            row.heard_by_teacher = heard
            row.changed_at = change.now
            record = take_record(row)
        return change.done(record)

    def delete(self, take_id: int) -> Done[None]:
        """Take a take out; it can come back for a while, then its file goes too."""
        with self._db.write("Deleted a take") as change:
            row = checks.get_row(change.session, Take, take_id, "take")
            row.deleted_at = row.changed_at = change.now
            change.label = f"Deleted a take of {row.student.name}"
        return change.done(None)

    def to_hear(self) -> tuple[TakeRecord, ...]:
        """Takes that the teacher has not heard, the oldest first."""
        with self._db.read() as session:
            return takes_to_hear(session)

    def waiting(self) -> tuple[TakeRecord, ...]:
        """Takes that the program has not listened to, the oldest first."""
        query = _kept().where(Take.status == "waiting").order_by(Take.recorded_at, Take.id)
        with self._db.read() as session:
            return tuple(take_record(row) for row in session.scalars(query))

    def of_student(
        self, student_id: int, piece_id: int | None = None, limit: int | None = None
    ) -> tuple[TakeRecord, ...]:
        """A student's takes, of one piece if it is given, the latest first."""
        query = _kept().where(Take.student_id == student_id)
        if piece_id is not None:
            query = query.where(Take.piece_id == piece_id)
        return self._latest(query, limit)

    def of_piece(self, piece_id: int, limit: int | None = None) -> tuple[TakeRecord, ...]:
        """Everybody's takes of a piece, the latest first."""
        return self._latest(_kept().where(Take.piece_id == piece_id), limit)

    def _latest(self, query: Select[Take], limit: int | None) -> tuple[TakeRecord, ...]:
        query = query.order_by(Take.recorded_at.desc(), Take.id.desc()).limit(limit)
        with self._db.read() as session:
            return tuple(take_record(row) for row in session.scalars(query))


def takes_to_hear(session: Session) -> tuple[TakeRecord, ...]:
    """Takes that the teacher has not heard, the oldest first."""
    query = _kept().where(Take.heard_by_teacher.is_(False)).order_by(Take.recorded_at, Take.id)
    return tuple(take_record(row) for row in session.scalars(query))


def forget_result(session: Session, row: Take) -> None:
    """Take out what listening found; the take waits again."""
    held = session.get(TakeResult, row.id)
    if held is not None:
        session.delete(held)
    row.status, row.summary = "waiting", {}


def _kept() -> Select[Take]:
    return select(Take).where(Take.deleted_at.is_(None)).options(*NAMES)


def _piece(session: Session, piece_id: int | None) -> Piece | None:
    return None if piece_id is None else checks.get_row(session, Piece, piece_id, "piece")


def _checked(details: TakeDetails) -> dict[str, Any]:
    recorded_at = details.recorded_at
    name = details.file_name.replace("\\", "/").rsplit("/", 1)[-1][-checks.LINE_LENGTH :]
    return {
        "kind": checks.one_of(details.kind, TAKE_KINDS, "the kind of take"),
        "file_name": checks.line(name, "the file's name"),
        "media_type": checks.line(details.media_type, "the media type", 120),
        "recorded_at": None if recorded_at is None else checks.moment(recorded_at, "the moment"),
        "notes": checks.text(details.notes, "the note"),
    }
