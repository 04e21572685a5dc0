"""Taking back: every logged change, in any order that does no harm, and the taking back itself."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from passagework.studio.changes import UNLOGGED_COLUMNS, Change, columns_of
from passagework.studio.columns import Base, from_plain, to_plain
from passagework.studio.database import Database
from passagework.studio.errors import ConflictError, NotFoundError
from passagework.studio.pieces import forget_profile
from passagework.studio.records import Done
from passagework.studio.tables import TABLES
from passagework.studio.tables_studio import UndoRow, UndoStep

PIECE_TABLES = frozenset({"piece", "tag", "edition", "piece_level", "background"})
"""Tables whose words the library is searched by."""

BACK, AGAIN = "Took back: ", "Did again: "

FACT_COLUMNS = frozenset(
    [
        "title",
        "composer",
        "key",
        "metre",
        "bars",
        "notes_count",
        "minutes",
        "lowest",
        "highest",
        "warnings",
        "level_score",
    ]
)
"""Columns of a piece that are computed from its file, and may have been computed anew."""


@dataclass(frozen=True, slots=True)
class Step:
    """A change that can be taken back."""

    token: str
    label: str
    made_at: datetime


class Undo:
    """The log of changes."""

    def __init__(self, db: Database) -> None:
        self._db = db

    def recent(self, limit: int = 20) -> tuple[Step, ...]:
        """The latest changes that were not taken back, newest first."""
        query = select(UndoStep).where(UndoStep.undone.is_(False)).order_by(UndoStep.id.desc())
        with self._db.read() as session:
            steps = session.scalars(query.limit(limit))
            return tuple(Step(s.token, s.label, s.made_at) for s in steps)

    def undo(self, token: str) -> Done[str]:
        """Take a change back; the value is what it was called.

        Raises `NotFoundError` for a token that is not (or no longer) in the log, `ConflictError` where the same was changed
        again since: nothing is taken back then.
        """
        with self._db.write("Took back a change") as change:
            session = change.session
            step = session.scalar(select(UndoStep).where(UndoStep.token == token))
            if step is None:
                raise NotFoundError("this change can no longer be taken back")
            if step.undone:
                raise ConflictError("this was taken back already")
            change.label = _label(step.label)
            query = select(UndoRow).where(UndoRow.step_id == step.id).order_by(UndoRow.id.desc())
            for row in session.scalars(query).all():
                _take_back(change, row)
                session.flush()
            step.undone = True
            label = step.label
        return change.done(label)


def _label(undone: str) -> str:
    """What the taking back of a step is called; taking that back is doing it again."""
    if undone.startswith(BACK):
        return AGAIN + undone[len(BACK) :]
    return BACK + undone.removeprefix(AGAIN)


def _take_back(change: Change, row: UndoRow) -> None:
    table = TABLES[row.table_name]
    found = change.session.get(table, row.row_id)
    if row.table_name in PIECE_TABLES and row.piece_id is not None:
        change.touched.add(row.piece_id)
    if row.after is None:
        if found is not None or row.before is None:
            raise _changed_since()
        change.session.add(table(**_values(table, row.before)))
        return
    if found is None:
        raise _changed_since()
    if row.before is None and hasattr(found, "deleted_at"):
        # Nothing of a piece, lesson or take is lost by taking it away again: it can still come back.
        found.deleted_at = change.now
    elif row.before is None:
        _same(found, row.after)
        change.session.delete(found)
    else:
        _same(found, row.after)
        if getattr(found, "emptied", False):
            raise NotFoundError("this piece can no longer be fetched back", do="add its file again")
        for name, value in _values(table, row.before).items():
            setattr(found, name, value)
        if "hash" in row.before and row.table_name == "piece":
            forget_profile(change.session, row.row_id)
    if hasattr(found, "changed_at"):
        found.changed_at = change.now


def _values(table: type[Base], image: dict[str, Any]) -> dict[str, Any]:
    kinds = dict(columns_of(table))
    return {name: from_plain(kinds[name], v) for name, v in image.items() if name in kinds}


def _same(row: Base, image: dict[str, Any]) -> None:
    kinds = dict(columns_of(type(row)))
    for name, value in image.items():
        if name in kinds and name not in UNLOGGED_COLUMNS | FACT_COLUMNS:
            now = to_plain(kinds[name], getattr(row, name))
            if now != value:
                raise _changed_since()


def _changed_since() -> ConflictError:
    return ConflictError(
        "the same was changed again since; nothing was taken back",
        do="take the later change back first",
    )


def purge(session: Session, before: datetime) -> int:
    """Forget the steps made before a moment; how many."""
    old = session.scalars(select(UndoStep).where(UndoStep.made_at < before)).all()
    for step in old:
        for row in session.scalars(select(UndoRow).where(UndoRow.step_id == step.id)):
            session.delete(row)
        session.flush()
        session.delete(step)
    return len(old)
