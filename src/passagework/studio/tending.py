"""What time does to a studio: the log of changes is kept for a while, then what was deleted goes for good."""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy import delete, exists, or_, select
from sqlalchemy.orm import Session

from passagework.studio import undo
from passagework.studio.blobs import Blobs
from passagework.studio.database import Database
from passagework.studio.pieces import forget_profile
from passagework.studio.search_words import forget
from passagework.studio.tables_people import Edit, Lesson, Plan, Study, Take, TakeResult
from passagework.studio.tables_pieces import Level, Piece, PieceBackground, PieceEdition, Tag
from passagework.studio.tables_studio import UndoRow

KEPT_DAYS = 30
"""How long a change can be taken back, and what was deleted fetched back: a month of lessons."""


def purge(db: Database) -> None:
    """Let go of what was deleted, and of changes made, longer than `KEPT_DAYS` ago."""
    with db.write() as change:
        before = change.now - timedelta(days=KEPT_DAYS)
        session = change.session
        undo.purge(session, before)
        for take in session.scalars(select(Take).where(Take.deleted_at < before)):
            session.execute(delete(TakeResult).where(TakeResult.take_id == take.id))
            session.delete(take)
        for lesson in session.scalars(select(Lesson).where(Lesson.deleted_at < before)):
            session.delete(lesson)
        session.flush()
        _purge_pieces(session, before, db.full_text)


def _purge_pieces(session: Session, before: datetime, full_text: bool) -> None:
    """Pieces that somebody played keep their title, for the student's sake; of others nothing stays."""
    query = select(Piece).where(Piece.deleted_at < before, Piece.emptied.is_(False))
    for piece in session.scalars(query):
        for table in (Tag, PieceEdition, Level, PieceBackground, Edit):
            session.execute(
                delete(table)
                .where(table.piece_id == piece.id)
                .execution_options(synchronize_session=False)
            )
        forget_profile(session, piece.id)
        forget(session, piece.id, full_text)
        piece.notes, piece.search_text, piece.emptied = "", "", True
        played = or_(*(exists().where(t.piece_id == piece.id) for t in (Study, Take, Plan)))
        if not session.scalar(select(played)):
            session.delete(piece)
    session.flush()


def sweep(db: Database, scores: Blobs, takes: Blobs) -> int:
    """Take away files that nobody speaks of: of crashes, and of what was purged; how many."""
    with db.exclusive() as connection, Session(connection) as session:
        wanted_scores = set(session.scalars(select(Piece.hash).where(Piece.emptied.is_(False))))
        wanted_takes = set(session.scalars(select(Take.hash)))
        for row in session.scalars(
            select(UndoRow).where(UndoRow.table_name.in_(("piece", "take")))
        ):
            wanted = wanted_scores if row.table_name == "piece" else wanted_takes
            wanted |= {i["hash"] for i in (row.before, row.after) if i and "hash" in i}
        return scores.sweep(wanted_scores) + takes.sweep(wanted_takes)
