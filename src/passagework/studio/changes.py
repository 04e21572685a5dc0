"""One change as the teacher sees it: the session it is made in, and the log that it is taken back by.

Conventions
-----------
* A step of the log holds, for every row that was added, changed or taken out, the columns that differ: as they were before,
  and as they are after. What the program writes down by itself (the results of listening, what is computed of a
  score) is written outside any step.
* `changed_at` is no part of a step: it says when something was changed, taking back included.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any, TypeVar
from uuid import uuid4

from sqlalchemy import event, inspect
from sqlalchemy.orm import Session

from passagework.studio.columns import Base, to_plain
from passagework.studio.records import Done
from passagework.studio.tables_studio import UndoRow, UndoStep

Value = TypeVar("Value")

UNLOGGED_TABLES = frozenset({"undo_step", "undo_row", "take_result", "profile", "piece_number"})

UNLOGGED_COLUMNS = frozenset(
    {"changed_at", "shown_composer", "sort_title", "sort_composer", "search_text"}
)
"""Columns that follow from others, or say when."""


@dataclass(frozen=True, slots=True)
class RowChange:
    """What happened to one row."""

    table: str
    row_id: int
    before: dict[str, Any] | None
    after: dict[str, Any] | None
    student_id: int | None
    piece_id: int | None


class Recorder:
    """Listens to a session and keeps what its flushes do to rows."""

    def __init__(self, session: Session) -> None:
        self.rows: list[RowChange] = []
        event.listen(session, "before_flush", self._before)
        event.listen(session, "after_flush", self._after)

    def _before(self, session: Session, _context: Any, _instances: Any) -> None:
        for row in session.deleted:
            self._note(row, _image(row), None)

    def _after(self, session: Session, _context: Any) -> None:
        for row in session.new:
            self._note(row, None, _image(row))
        for row in session.dirty:
            if row not in session.deleted:
                self._note(row, *_difference(row))

    def _note(self, row: Any, before: dict[str, Any] | None, after: dict[str, Any] | None) -> None:
        table = row.__tablename__
        if table in UNLOGGED_TABLES or not (before or after):
            return
        student_id = row.id if table == "student" else getattr(row, "student_id", None)
        piece_id = row.id if table == "piece" else getattr(row, "piece_id", None)
        self.rows.append(RowChange(table, row.id, before, after, student_id, piece_id))


class Change:
    """A change being made."""

    def __init__(self, session: Session, now: datetime, label: str) -> None:
        self.session = session
        self.now = now
        self.label = label
        self.token = ""
        self.touched: set[int] = set()
        """Ids of pieces whose entry in the index of words must be made anew."""

    def done(self, value: Value) -> Done[Value]:
        """The result, once the change is made."""
        return Done(value, self.token, self.label)

    def keep(self, recorder: Recorder) -> None:
        """Write the step into the log, in the same transaction."""
        if not recorder.rows:
            return
        self.token = uuid4().hex
        step = UndoStep(token=self.token, label=self.label, made_at=self.now, undone=False)
        self.session.add(step)
        self.session.flush()
        for row in recorder.rows:
            self.session.add(
                UndoRow(
                    step_id=step.id,
                    table_name=row.table,
                    row_id=row.row_id,
                    before=row.before,
                    after=row.after,
                    student_id=row.student_id,
                    piece_id=row.piece_id,
                )
            )
        self.session.flush()


def _image(row: Any) -> dict[str, Any]:
    """The row as JSON, by the names of its attributes."""
    return {
        name: to_plain(kind, inspect(row).dict.get(name)) for name, kind in columns_of(type(row))
    }


def _difference(row: Any) -> tuple[dict[str, Any], dict[str, Any]]:
    before: dict[str, Any] = {}
    after: dict[str, Any] = {}
    for name, kind in columns_of(type(row)):
        history = inspect(row).attrs[name].history
        if name in UNLOGGED_COLUMNS or not history.added:
            continue
        if not history.deleted:
            raise AssertionError(f"{name} was changed without having been read")
        old, new = to_plain(kind, history.deleted[0]), to_plain(kind, history.added[0])
        if old != new:
            before[name], after[name] = old, new
    return before, after


def columns_of(table: type[Base]) -> list[tuple[str, Any]]:
    """(attribute, type) of every column of a table."""
    return [(a.key, a.columns[0].type) for a in inspect(table).column_attrs]
