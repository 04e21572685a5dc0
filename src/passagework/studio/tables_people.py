"""The tables of students and of what is theirs. Not seen outside the room: records are given out instead."""

from __future__ import annotations

from datetime import date, datetime, time
from typing import Any

from sqlalchemy import ForeignKey, Index, Integer, String, Text, func
from sqlalchemy.orm import Mapped, mapped_column, relationship

from passagework.studio.columns import Base, ClockTime, JsonText, Moment
from passagework.studio.tables_pieces import HASH_LENGTH, Piece


class Student(Base):
    """A student."""

    __tablename__ = "student"

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    uid: Mapped[str] = mapped_column(String(32), unique=True)
    name: Mapped[str] = mapped_column(String(120))
    age_band: Mapped[str] = mapped_column(String(40), default="")
    reach_left_cm: Mapped[float | None]
    reach_right_cm: Mapped[float | None]
    hands_more: Mapped[Any | None] = mapped_column(JsonText)
    """Comfortable reach, spans of finger pairs, weak and resting fingers of either hand, where they were measured."""
    weekly_minutes: Mapped[int | None]
    practice_days: Mapped[Any] = mapped_column(JsonText, default=list)
    lesson_weekday: Mapped[int | None]
    lesson_time: Mapped[time | None] = mapped_column(ClockTime)
    lesson_minutes: Mapped[int | None]
    notes: Mapped[str] = mapped_column(Text, default="")
    archived: Mapped[bool] = mapped_column(default=False)
    added_at: Mapped[datetime] = mapped_column(Moment)
    changed_at: Mapped[datetime] = mapped_column(Moment)

    __table_args__ = (Index(None, "archived", "name"), {"sqlite_autoincrement": True})


class Study(Base):
    """A student's work on a piece."""

    __tablename__ = "study"

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    uid: Mapped[str] = mapped_column(String(32), unique=True)
    student_id: Mapped[int] = mapped_column(ForeignKey("student.id"), index=True)
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id"), index=True)
    status: Mapped[str] = mapped_column(String(20))
    since: Mapped[date | None]
    performance_on: Mapped[date | None] = mapped_column(index=True)
    result: Mapped[str] = mapped_column(String(20), default="")
    result_on: Mapped[date | None]
    notes: Mapped[str] = mapped_column(Text, default="")
    changed_at: Mapped[datetime] = mapped_column(Moment)

    student: Mapped[Student] = relationship()
    piece: Mapped[Piece] = relationship()

    __table_args__ = {"sqlite_autoincrement": True}  # noqa: RUF012  SQLAlchemy reads a plain dict


class Lesson(Base):
    """A lesson."""

    __tablename__ = "lesson"

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    uid: Mapped[str] = mapped_column(String(32), unique=True)
    student_id: Mapped[int] = mapped_column(ForeignKey("student.id"))
    on: Mapped[date] = mapped_column("on_date", index=True)
    at: Mapped[time | None] = mapped_column("at_time", ClockTime)
    promised: Mapped[str] = mapped_column(Text, default="")
    notes: Mapped[str] = mapped_column(Text, default="")
    assignment: Mapped[Any | None] = mapped_column(JsonText)
    changed_at: Mapped[datetime] = mapped_column(Moment)
    deleted_at: Mapped[datetime | None] = mapped_column(Moment)

    student: Mapped[Student] = relationship()

    __table_args__ = (Index(None, "student_id", "on_date"), {"sqlite_autoincrement": True})


class Take(Base):
    """A take; the file lies beside the database."""

    __tablename__ = "take"

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    uid: Mapped[str] = mapped_column(String(32), unique=True)
    student_id: Mapped[int] = mapped_column(ForeignKey("student.id"))
    piece_id: Mapped[int | None] = mapped_column(ForeignKey("piece.id"))
    hash: Mapped[str] = mapped_column(String(HASH_LENGTH), index=True)
    size: Mapped[int]
    kind: Mapped[str] = mapped_column(String(20))
    file_name: Mapped[str] = mapped_column(String(255), default="")
    media_type: Mapped[str] = mapped_column(String(120), default="")
    recorded_at: Mapped[datetime] = mapped_column(Moment)
    notes: Mapped[str] = mapped_column(Text, default="")
    status: Mapped[str] = mapped_column(String(20), default="waiting")
    summary: Mapped[Any] = mapped_column(JsonText, default=dict)
    heard_by_teacher: Mapped[bool] = mapped_column(default=False)
    changed_at: Mapped[datetime] = mapped_column(Moment)
    deleted_at: Mapped[datetime | None] = mapped_column(Moment)

    student: Mapped[Student] = relationship()
    piece: Mapped[Piece | None] = relationship()

    __table_args__ = (
        Index(None, "student_id", "recorded_at"),
        Index(None, "piece_id", "recorded_at"),
        Index(None, "heard_by_teacher", "recorded_at"),
        {"sqlite_autoincrement": True},
    )


class TakeResult(Base):
    """What listening found, apart from the row that lists are made of: an alignment is long."""

    __tablename__ = "take_result"

    take_id: Mapped[int] = mapped_column(ForeignKey("take.id"), primary_key=True)
    version: Mapped[int]
    body: Mapped[Any] = mapped_column(JsonText)


class Plan(Base):
    """One version of a plan."""

    __tablename__ = "plan"

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    uid: Mapped[str] = mapped_column(String(32), unique=True)
    student_id: Mapped[int] = mapped_column(ForeignKey("student.id"))
    piece_id: Mapped[int | None] = mapped_column(ForeignKey("piece.id"), index=True)
    version: Mapped[int]
    reason: Mapped[str] = mapped_column(Text, default="")
    made_at: Mapped[datetime] = mapped_column(Moment)
    body: Mapped[Any] = mapped_column(JsonText)

    __table_args__ = (
        Index(None, "student_id", "piece_id", "version"),
        {"sqlite_autoincrement": True},
    )


class Edit(Base):
    """Something the teacher laid over what is computed; it belongs to the piece, whatever its file."""

    __tablename__ = "edit"

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    uid: Mapped[str] = mapped_column(String(32), unique=True)
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id"))
    student_id: Mapped[int | None] = mapped_column(ForeignKey("student.id"), index=True)
    kind: Mapped[str] = mapped_column(String(40))
    key: Mapped[str] = mapped_column(String(200))
    bar: Mapped[int | None]
    note_ids: Mapped[Any] = mapped_column(JsonText, default=list)
    payload: Mapped[Any] = mapped_column(JsonText)
    made_at: Mapped[datetime] = mapped_column(Moment)
    changed_at: Mapped[datetime] = mapped_column(Moment)

    __table_args__ = ({"sqlite_autoincrement": True},)


# A student of nobody in particular is NULL, and NULLs are never alike in an index: 0 stands for them here.
Index(
    "uq_edit_place",
    Edit.piece_id,
    func.coalesce(Edit.student_id, 0),
    Edit.kind,
    Edit.key,
    unique=True,
)


class Skill(Base):
    """The teacher's word on a skill."""

    __tablename__ = "skill"

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    student_id: Mapped[int] = mapped_column(ForeignKey("student.id"))
    kind: Mapped[str] = mapped_column(String(40))
    value: Mapped[float]
    notes: Mapped[str] = mapped_column(Text, default="")
    changed_at: Mapped[datetime] = mapped_column(Moment)

    __table_args__ = (
        Index("uq_skill_kind", "student_id", "kind", unique=True),
        {"sqlite_autoincrement": True},
    )
