"""The tables of the studio itself: settings, and the log that changes are taken back by."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import ForeignKey, Integer, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from passagework.studio.columns import Base, JsonText, Moment


class Setting(Base):
    """A setting of the studio."""

    __tablename__ = "setting"

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    name: Mapped[str] = mapped_column(String(80), unique=True)
    value: Mapped[Any | None] = mapped_column(JsonText)

    __table_args__ = {"sqlite_autoincrement": True}  # noqa: RUF012  SQLAlchemy reads a plain dict


class UndoStep(Base):
    """One change, as the teacher sees it: a click, a saved form."""

    __tablename__ = "undo_step"

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    token: Mapped[str] = mapped_column(String(32), unique=True)
    label: Mapped[str] = mapped_column(Text)
    made_at: Mapped[datetime] = mapped_column(Moment, index=True)
    undone: Mapped[bool] = mapped_column(default=False)

    __table_args__ = {"sqlite_autoincrement": True}  # noqa: RUF012


class UndoRow(Base):
    """What a step did to one row of a table: the changed columns before and after."""

    __tablename__ = "undo_row"

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    step_id: Mapped[int] = mapped_column(ForeignKey("undo_step.id"), index=True)
    table_name: Mapped[str] = mapped_column(String(40))
    row_id: Mapped[int]
    before: Mapped[Any | None] = mapped_column(JsonText)
    """None for a row that was added."""
    after: Mapped[Any | None] = mapped_column(JsonText)
    """None for a row that was taken out."""
    student_id: Mapped[int | None] = mapped_column(index=True)
    """Whose row it was, so that the log forgets with the rest; no foreign key, since it may outlive the row."""
    piece_id: Mapped[int | None] = mapped_column(index=True)

    __table_args__ = {"sqlite_autoincrement": True}  # noqa: RUF012
