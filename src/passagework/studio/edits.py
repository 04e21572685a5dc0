"""The teacher's edits: kept apart from what is computed, by piece and, where it is meant so, by student.

An edit belongs to the piece and not to its file: a better file, a new reading or a new version of the program changes
none of them. What the payload says is the business of `passagework.teaching.edits`.
"""

from __future__ import annotations

from uuid import uuid4

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from passagework.studio import checks
from passagework.studio.database import Database
from passagework.studio.errors import StudioError
from passagework.studio.records import Done, EditRecord, Json
from passagework.studio.rows import edit_record
from passagework.studio.tables_people import Edit, Student
from passagework.studio.tables_pieces import Piece

KIND_LENGTH, KEY_LENGTH = 40, 200

MOST_NOTE_IDS = 5_000

MOST_EDITS = 20_000
"""Of one piece; a finger for every note of the longest movement fits in."""


class Edits:
    """The edits of all pieces."""

    def __init__(self, db: Database) -> None:
        self._db = db

    def put(
        self,
        piece_id: int,
        kind: str,
        key: str,
        payload: Json,
        *,
        student_id: int | None = None,
        bar: int | None = None,
        note_ids: tuple[str, ...] = (),
        label: str = "",
    ) -> Done[EditRecord]:
        """Write an edit, in the place of the one with the same kind and key for the same student.

        `label` says in words what the teacher did, for the offer to take it back.
        """
        (done,) = self.put_many(
            piece_id,
            ((kind, key, payload, bar, note_ids),),
            student_id=student_id,
            label=label,
        )
        return done

    def put_many(
        self,
        piece_id: int,
        edits: tuple[tuple[str, str, Json, int | None, tuple[str, ...]], ...],
        *,
        student_id: int | None = None,
        label: str = "",
    ) -> tuple[Done[EditRecord], ...]:
        """Several at once, taken back together: (kind, key, payload, bar, note ids)."""
        with self._db.write(label or "Changed the piece") as change:
            session = change.session
            checks.get_row(session, Piece, piece_id, "piece")
            if student_id is not None:
                checks.get_row(session, Student, student_id, "student")
            records = []
            for kind, key, payload, bar, note_ids in edits:
                row = _row(session, piece_id, student_id, kind, key)
                row.payload = checks.json_value(payload, "the edit")
                row.bar = checks.whole(bar, 0, 1_000_000, "the bar")
                row.note_ids = _note_ids(note_ids)
                row.changed_at = change.now
                if row.made_at is None:
                    row.made_at = change.now
                session.add(row)
                session.flush()
                records.append(edit_record(row))
        return tuple(change.done(record) for record in records)

    def get(self, edit_id: int) -> EditRecord:
        """An edit by id; raises `NotFoundError`."""
        with self._db.read() as session:
            return edit_record(checks.get_row(session, Edit, edit_id, "edit"))

    def delete(self, edit_id: int, label: str = "") -> Done[None]:
        """Take an edit out."""
        with self._db.write(label or "Took an edit out") as change:
            change.session.delete(checks.get_row(change.session, Edit, edit_id, "edit"))
        return change.done(None)

    def delete_many(self, edit_ids: tuple[int, ...], label: str = "") -> Done[None]:
        """Take several out, to be taken back together."""
        with self._db.write(label or "Took edits out") as change:
            for edit_id in dict.fromkeys(edit_ids):
                change.session.delete(checks.get_row(change.session, Edit, edit_id, "edit"))
        return change.done(None)

    def of_piece(self, piece_id: int, student_id: int | None = None) -> tuple[EditRecord, ...]:
        """What holds for every student and, where one is given, for that one; in order of making.

        Those for the student come after those for all, so that whoever lays them over in order gives them the last word.
        """
        whose = Edit.student_id.is_(None)
        if student_id is not None:
            whose = or_(whose, Edit.student_id == student_id)  # type: ignore[assignment]
        query = (
            select(Edit)
            .where(Edit.piece_id == piece_id, whose)
            .order_by(Edit.student_id.is_not(None), Edit.id)
        )
        with self._db.read() as session:
            return tuple(edit_record(row) for row in session.scalars(query))


def _row(session: Session, piece_id: int, student_id: int | None, kind: str, key: str) -> Edit:
    """The edit that stands in this place, or a new one."""
    kind = checks.needed(checks.line(kind, "the kind", KIND_LENGTH), "the kind of the edit")
    key = checks.line(key, "the key", KEY_LENGTH)
    whose = Edit.student_id.is_(None) if student_id is None else Edit.student_id == student_id
    query = select(Edit).where(Edit.piece_id == piece_id, whose, Edit.kind == kind, Edit.key == key)
    found = session.scalar(query)
    if found is not None:
        return found
    return Edit(uid=uuid4().hex, piece_id=piece_id, student_id=student_id, kind=kind, key=key)


def _note_ids(note_ids: tuple[str, ...]) -> list[str]:
    if len(note_ids) > MOST_NOTE_IDS:
        raise StudioError(f"an edit concerns at most {MOST_NOTE_IDS} notes")
    return [checks.line(note_id, "a note's id", KEY_LENGTH) for note_id in note_ids]
