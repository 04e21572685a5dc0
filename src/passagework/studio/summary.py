"""What is kept, where, and how much of it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import ColumnElement, func, select
from sqlalchemy.orm import Session

from passagework.studio.backups import Backups
from passagework.studio.blobs import Blobs
from passagework.studio.columns import Base
from passagework.studio.computed import Computed
from passagework.studio.database import Database
from passagework.studio.tables_people import Edit, Lesson, Plan, Student, Study, Take
from passagework.studio.tables_pieces import Piece
from passagework.studio.tables_studio import UndoStep


@dataclass(frozen=True, kw_only=True)
class Summary:
    """Counts, and sizes in bytes."""

    folder: Path
    database: str
    """The file's name, or the address of another database without its password."""
    students: int
    archived_students: int
    pieces: int
    studies: int
    lessons: int
    takes: int
    plans: int
    edits: int
    deleted: int
    """Pieces, lessons and takes that can still be fetched back."""
    steps: int
    """Changes that can be taken back."""
    backups: int
    database_bytes: int
    score_bytes: int
    take_bytes: int
    computed_bytes: int
    backup_bytes: int


def summary_of(
    db: Database, folder: Path, scores: Blobs, takes: Blobs, computed: Computed, backups: Backups
) -> Summary:
    """Count."""
    with db.read() as session:
        deleted = sum(
            _count(session, table, table.deleted_at.is_not(None)) for table in (Lesson, Take)
        ) + _count(session, Piece, Piece.deleted_at.is_not(None), Piece.emptied.is_(False))
        counts = {
            "students": _count(session, Student, Student.archived.is_(False)),
            "archived_students": _count(session, Student, Student.archived.is_(True)),
            "pieces": _count(session, Piece, Piece.deleted_at.is_(None)),
            "studies": _count(session, Study),
            "lessons": _count(session, Lesson, Lesson.deleted_at.is_(None)),
            "takes": _count(session, Take, Take.deleted_at.is_(None)),
            "plans": _count(session, Plan),
            "edits": _count(session, Edit),
            "steps": _count(session, UndoStep, UndoStep.undone.is_(False)),
            "deleted": deleted,
        }
    path = db.path
    return Summary(
        folder=folder,
        database=path.name if path else db.url.render_as_string(hide_password=True),
        database_bytes=path.stat().st_size if path and path.exists() else 0,
        score_bytes=scores.size(),
        take_bytes=takes.size(),
        computed_bytes=computed.size(),
        backup_bytes=backups.size(),
        backups=len(backups.all()),
        **counts,
    )


def _count(session: Session, table: type[Base], *conditions: ColumnElement[bool] | Any) -> int:
    return session.scalar(select(func.count()).select_from(table).where(*conditions)) or 0
