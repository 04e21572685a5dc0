"""Pieces: brought in, noted on, replaced by a better file, deleted and fetched back."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from uuid import uuid4

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from passagework.score.errors import ScoreError
from passagework.studio import checks
from passagework.studio.blobs import Blobs, hash_of
from passagework.studio.changes import Change
from passagework.studio.database import Database
from passagework.studio.errors import ConflictError, NotFoundError, StudioError
from passagework.studio.facts import piece_facts
from passagework.studio.noted import checked_details, note_details
from passagework.studio.piece_records import Added, PieceDetails, PieceFacts, PieceRecord
from passagework.studio.piece_rows import piece_records, whole_piece
from passagework.studio.records import Done
from passagework.studio.rows import piece_title
from passagework.studio.tables_pieces import Number, Piece, Profile

NUMBER_NAME_LENGTH = 80


class Pieces:
    """The pieces of the library."""

    def __init__(self, db: Database, scores: Blobs) -> None:
        self._db = db
        self._scores = scores

    def add(self, data: bytes, file_name: str, facts: PieceFacts | None = None) -> Added:
        """Bring a score in. `facts` are those of `piece_facts`, where a worker has computed them.

        The same content is kept once: a piece that is there, or was deleted, is given back as it was. Raises `StudioError`
        for a file that is no score.
        """
        name = _file_name(file_name)
        known = self._known(data)
        facts = facts or (piece_facts_or_error(data, name) if known is None else PieceFacts())
        with self._db.write("Added a piece") as change:
            hash_ = self._scores.put(data)
            row = change.session.scalar(select(Piece).where(Piece.hash == hash_))
            was_there = row is not None and row.deleted_at is None
            if row is None:
                row = _new(change, hash_, name, len(data))
                _set_facts(change, row, facts)
            elif not was_there:
                row.deleted_at = None
                if row.emptied:
                    row.emptied = False
                    _set_facts(change, row, facts)
            change.label = f"Added {piece_title(row)}"
            record = whole_piece(change.session, row.id)
        return Added(record, was_there, change.token)

    def get(self, piece_id: int) -> PieceRecord:
        """A piece with its profile; raises `NotFoundError`, also for a deleted one."""
        with self._db.read() as session:
            return whole_piece(session, checks.get_row(session, Piece, piece_id, "piece").id)

    def by_hash(self, hash_: str) -> PieceRecord | None:
        """The piece whose file has this hash, if it is in the library."""
        query = select(Piece).where(Piece.hash == hash_, Piece.deleted_at.is_(None))
        with self._db.read() as session:
            row = session.scalar(query)
            return whole_piece(session, row.id) if row is not None else None

    def all(self) -> tuple[PieceRecord, ...]:
        """Every piece of the library, by title, without profiles."""
        order = (Piece.sort_title, Piece.id)
        with self._db.read() as session:
            return tuple(piece_records(session, Piece.deleted_at.is_(None), order=order))

    def score(self, piece_id: int) -> bytes:
        """The score's file as it was brought, checked against its hash."""
        with self._db.read() as session:
            hash_ = checks.get_row(session, Piece, piece_id, "piece").hash
        return self._scores.get(hash_)

    def profiles(self) -> dict[int, Mapping[str, Any]]:
        """The demand profile of every piece that was measured, by id."""
        query = (
            select(Profile.piece_id, Profile.body)
            .join(Piece, Piece.id == Profile.piece_id)
            .where(Piece.deleted_at.is_(None))
        )
        with self._db.read() as session:
            return {row.piece_id: row.body for row in session.execute(query)}

    def not_measured(self, version: int) -> tuple[int, ...]:
        """Ids of the pieces whose profile is missing or of another version than `version`."""
        query = (
            select(Piece.id)
            .outerjoin(Profile, (Profile.piece_id == Piece.id) & (Profile.version == version))
            .where(Piece.deleted_at.is_(None), Profile.piece_id.is_(None))
            .order_by(Piece.id)
        )
        with self._db.read() as session:
            return tuple(session.scalars(query))

    def change(self, piece_id: int, details: PieceDetails) -> Done[PieceRecord]:
        """Replace what the teacher notes about a piece."""
        checked = checked_details(details)
        with self._db.write("Changed a piece") as change:
            row = checks.get_row(change.session, Piece, piece_id, "piece")
            note_details(change, row, checked)
            change.label = f"Changed {piece_title(row)}"
            record = whole_piece(change.session, row.id)
        return change.done(record)

    def set_facts(self, piece_id: int, facts: PieceFacts) -> PieceRecord:
        """Write down what was computed anew (no step of the undo log)."""
        with self._db.write() as change:
            row = checks.get_row(change.session, Piece, piece_id, "piece")
            _set_facts(change, row, facts)
            return whole_piece(change.session, row.id)

    def set_level_scores(self, scores: Mapping[int, float | None]) -> None:
        """Write down where pieces stand by their demands; ids that are gone are passed over."""
        with self._db.write() as change:
            for piece_id, score in scores.items():
                row = change.session.get(Piece, piece_id)
                if row is not None:
                    row.level_score = score

    def replace_score(
        self, piece_id: int, data: bytes, file_name: str, facts: PieceFacts | None = None
    ) -> Done[PieceRecord]:
        """Put a better file in the place of a piece's score; notes, edits, takes and studies stay with the piece."""
        name = _file_name(file_name)
        facts = facts or piece_facts_or_error(data, name)
        with self._db.write("Replaced a score") as change:
            row = checks.get_row(change.session, Piece, piece_id, "piece")
            other = change.session.scalar(select(Piece).where(Piece.hash == hash_of(data)))
            if other is not None and other.id != row.id:
                raise ConflictError(
                    f"this file is in the library already, as {piece_title(other)}"
                    + (" (deleted)" if other.deleted_at else "")
                )
            row.hash, row.size, row.file_name = self._scores.put(data), len(data), name
            _set_facts(change, row, facts)
            row.changed_at = change.now
            change.label = f"Replaced the score of {piece_title(row)}"
            record = whole_piece(change.session, row.id)
        return change.done(record)

    def delete(self, piece_id: int) -> Done[None]:
        """Take a piece out of the library. It can come back for `KEPT_DAYS`; students keep what they did with it."""
        with self._db.write("Deleted a piece") as change:
            row = checks.get_row(change.session, Piece, piece_id, "piece")
            row.deleted_at = row.changed_at = change.now
            change.label = f"Deleted {piece_title(row)}"
        return change.done(None)

    def restore(self, piece_id: int) -> Done[PieceRecord]:
        """Fetch a deleted piece back."""
        with self._db.write("Fetched a piece back") as change:
            row = change.session.get(Piece, piece_id) if checks.is_id(piece_id) else None
            if row is None or row.emptied:
                raise NotFoundError("this piece can no longer be fetched back", do="add its file")
            row.deleted_at = None
            change.label = f"Fetched {piece_title(row)} back"
            record = whole_piece(change.session, row.id)
        return change.done(record)

    def _known(self, data: bytes) -> int | None:
        with self._db.read() as session:
            query = select(Piece.id).where(Piece.hash == hash_of(data), Piece.emptied.is_(False))
            return session.scalar(query)


def piece_facts_or_error(data: bytes, file_name: str) -> PieceFacts:
    """The facts of a score; raises `StudioError` in the score's own words where it cannot be read."""
    try:
        return piece_facts(data, file_name)
    except ScoreError as error:
        raise StudioError(f"{file_name[:80] or 'the file'}: {error}") from None


def _file_name(name: str) -> str:
    """The last part of a name, since some senders give whole paths; it is shown, never opened."""
    return checks.line(
        name.replace("\\", "/").rsplit("/", 1)[-1][-checks.LINE_LENGTH :], "the name"
    )


def _new(change: Change, hash_: str, file_name: str, size: int) -> Piece:
    row = Piece(
        uid=uuid4().hex,
        hash=hash_,
        file_name=file_name,
        size=size,
        warnings=[],
        added_at=change.now,
        changed_at=change.now,
    )
    change.session.add(row)
    return row


def _set_facts(change: Change, row: Piece, facts: PieceFacts) -> None:
    row.title = checks.line(facts.title[: checks.LINE_LENGTH], "the title")
    row.composer = checks.line(facts.composer[: checks.LINE_LENGTH], "the composer")
    row.key, row.metre = facts.key[:40], facts.metre[:40]
    row.bars, row.notes_count, row.minutes = facts.bars, facts.notes, facts.minutes
    row.lowest, row.highest = facts.lowest, facts.highest
    row.warnings = [checks.text(w[:500], "a warning") for w in facts.warnings[:200]]
    session = change.session
    session.flush()
    change.touched.add(row.id)
    forget_profile(session, row.id)
    if facts.profile is not None:
        body = checks.json_value(facts.profile, "the profile")
        session.add(Profile(piece_id=row.id, version=facts.profile_version or 0, body=body))
    for name, value in facts.numbers.items():
        short = checks.line(name, "a number's name", NUMBER_NAME_LENGTH)
        session.add(Number(piece_id=row.id, name=short, value=float(value)))
    session.flush()


def forget_profile(session: Session, piece_id: int) -> None:
    """Take out what was measured of a piece whose file is another now."""
    session.execute(delete(Number).where(Number.piece_id == piece_id))
    session.execute(delete(Profile).where(Profile.piece_id == piece_id))
