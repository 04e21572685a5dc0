"""The tables of the library. Not seen outside the room: records are given out instead."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import Float, ForeignKey, Index, Integer, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from passagework.studio.columns import Base, JsonText, Moment

HASH_LENGTH = 64
"""SHA-256 in hexadecimal."""


class Piece(Base):
    """A score and what is computed from it; the file lies beside the database."""

    __tablename__ = "piece"

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    uid: Mapped[str] = mapped_column(String(32), unique=True)
    hash: Mapped[str] = mapped_column(String(HASH_LENGTH), unique=True)
    file_name: Mapped[str] = mapped_column(String(255))
    size: Mapped[int]
    title: Mapped[str] = mapped_column(Text, default="")
    composer: Mapped[str] = mapped_column(Text, default="")
    key: Mapped[str] = mapped_column(String(40), default="")
    metre: Mapped[str] = mapped_column(String(40), default="")
    bars: Mapped[int] = mapped_column(default=0)
    notes_count: Mapped[int] = mapped_column(default=0)
    minutes: Mapped[float | None] = mapped_column(Float)
    lowest: Mapped[int | None]
    highest: Mapped[int | None]
    warnings: Mapped[Any] = mapped_column(JsonText, default=list)
    level_score: Mapped[float | None] = mapped_column(Float)
    own_title: Mapped[str] = mapped_column(Text, default="")
    own_composer: Mapped[str] = mapped_column(Text, default="")
    notes: Mapped[str] = mapped_column(Text, default="")
    added_at: Mapped[datetime] = mapped_column(Moment)
    changed_at: Mapped[datetime] = mapped_column(Moment)
    deleted_at: Mapped[datetime | None] = mapped_column(Moment)
    emptied: Mapped[bool] = mapped_column(default=False)
    """True where only the title is left, for the sake of the students who played it."""
    shown_composer: Mapped[str] = mapped_column(String(255), default="")
    sort_title: Mapped[str] = mapped_column(String(255), default="")
    sort_composer: Mapped[str] = mapped_column(String(255), default="")
    search_text: Mapped[str] = mapped_column(Text, default="")

    tags: Mapped[list[Tag]] = relationship(order_by="Tag.position", passive_deletes="all")
    editions: Mapped[list[PieceEdition]] = relationship(
        order_by="PieceEdition.position", passive_deletes="all"
    )
    levels: Mapped[list[Level]] = relationship(order_by="Level.position", passive_deletes="all")
    backgrounds: Mapped[list[PieceBackground]] = relationship(
        order_by="PieceBackground.position", passive_deletes="all"
    )

    __table_args__ = (
        Index(None, "deleted_at", "sort_title", "id"),
        Index(None, "deleted_at", "sort_composer", "id"),
        Index(None, "deleted_at", "added_at"),
        Index(None, "deleted_at", "level_score"),
        Index(None, "deleted_at", "bars"),
        Index(None, "deleted_at", "minutes"),
        Index(None, "deleted_at", "shown_composer", "sort_composer"),
        Index(None, "deleted_at", "key"),
        {"sqlite_autoincrement": True},
    )


class Profile(Base):
    """The demand profile, apart from the row that lists are made of."""

    __tablename__ = "profile"

    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id"), primary_key=True)
    version: Mapped[int]
    body: Mapped[Any] = mapped_column(JsonText)


class Number(Base):
    """One number of the profile, to search and sort by."""

    __tablename__ = "piece_number"

    name: Mapped[str] = mapped_column(String(80), primary_key=True)
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id"), primary_key=True, index=True)
    value: Mapped[float] = mapped_column(Float)

    # Rows lie in the order of the key: sorting a hundred thousand pieces by one number reads them side by side.
    __table_args__ = (Index(None, "name", "value"), {"sqlite_with_rowid": False})


class Tag(Base):
    """A word or two by which the teacher finds pieces."""

    __tablename__ = "tag"

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id"), index=True)
    position: Mapped[int]
    text: Mapped[str] = mapped_column(String(80), index=True)

    __table_args__ = {"sqlite_autoincrement": True}  # noqa: RUF012  SQLAlchemy reads a plain dict


class PieceEdition(Base):
    """A book that a piece is printed in."""

    __tablename__ = "edition"

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id"), index=True)
    position: Mapped[int]
    title: Mapped[str] = mapped_column(String(255), index=True)
    publisher: Mapped[str] = mapped_column(String(255), default="")
    place: Mapped[str] = mapped_column(String(80), default="")
    notes: Mapped[str] = mapped_column(Text, default="")

    __table_args__ = {"sqlite_autoincrement": True}  # noqa: RUF012


class LevelList(Base):
    """A list of levels, the teacher's own or a local one; labels easiest first."""

    __tablename__ = "level_list"

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    name: Mapped[str] = mapped_column(String(120), unique=True)
    labels: Mapped[Any] = mapped_column(JsonText, default=list)

    __table_args__ = {"sqlite_autoincrement": True}  # noqa: RUF012


class Level(Base):
    """Where a piece stands on a list."""

    __tablename__ = "piece_level"

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id"))
    list_id: Mapped[int] = mapped_column(ForeignKey("level_list.id"))
    position: Mapped[int]
    label: Mapped[str] = mapped_column(String(80))

    level_list: Mapped[LevelList] = relationship(lazy="joined")

    __table_args__ = (
        UniqueConstraint("piece_id", "list_id"),
        Index(None, "list_id", "label"),
        {"sqlite_autoincrement": True},
    )


class PieceBackground(Base):
    """Something worth knowing about a piece, with its source."""

    __tablename__ = "background"

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id"), index=True)
    position: Mapped[int]
    text: Mapped[str] = mapped_column(Text)
    source: Mapped[str] = mapped_column(Text, default="")

    __table_args__ = {"sqlite_autoincrement": True}  # noqa: RUF012
