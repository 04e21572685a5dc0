"""Pieces as records: plain columns, and one question for each thing that belongs to a piece, however many pieces there are.

The library is the page with the most rows; whole objects with what belongs to them take three times as long.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from sqlalchemy import ColumnElement, select
from sqlalchemy.orm import InstrumentedAttribute, Session

from passagework.studio.piece_records import (
    Background,
    Edition,
    PieceFacts,
    PieceLevel,
    PieceRecord,
)
from passagework.studio.tables_pieces import (
    Level,
    LevelList,
    Number,
    Piece,
    PieceBackground,
    PieceEdition,
    Profile,
    Tag,
)

COLUMNS = (
    Piece.id,
    Piece.uid,
    Piece.hash,
    Piece.file_name,
    Piece.size,
    Piece.title,
    Piece.composer,
    Piece.key,
    Piece.metre,
    Piece.bars,
    Piece.notes_count,
    Piece.minutes,
    Piece.lowest,
    Piece.highest,
    Piece.warnings,
    Piece.level_score,
    Piece.own_title,
    Piece.own_composer,
    Piece.notes,
    Piece.deleted_at,
    Piece.added_at,
    Piece.changed_at,
)


def piece_records(
    session: Session, *conditions: ColumnElement[bool], order: Sequence[Any] = ()
) -> list[PieceRecord]:
    """The pieces that conditions fit, in order, without their profiles."""
    query = select(*COLUMNS).where(*conditions).order_by(*order)
    rows = session.execute(query).all()
    ids = [row.id for row in rows]
    tags = _by_piece(session, Tag, (Tag.text,), ids)
    editions = _by_piece(
        session,
        PieceEdition,
        (PieceEdition.title, PieceEdition.publisher, PieceEdition.place, PieceEdition.notes),
        ids,
    )
    levels = _by_piece(session, Level, (Level.list_id, Level.label), ids)
    lists: Mapping[int, str] = (
        {row.id: row.name for row in session.execute(select(LevelList.id, LevelList.name))}
        if levels
        else {}
    )
    backgrounds = _by_piece(
        session, PieceBackground, (PieceBackground.text, PieceBackground.source), ids
    )
    return [
        PieceRecord(
            id=row.id,
            uid=row.uid,
            hash=row.hash,
            file_name=row.file_name,
            size=row.size,
            facts=_facts(row),
            level_score=row.level_score,
            own_title=row.own_title,
            own_composer=row.own_composer,
            notes=row.notes,
            tags=tuple(text for (text,) in tags.get(row.id, ())),
            editions=tuple(
                Edition(title=title, publisher=publisher, place=place, notes=notes)
                for title, publisher, place, notes in editions.get(row.id, ())
            ),
            levels=tuple(
                PieceLevel(list_name=lists[list_id], label=label)
                for list_id, label in levels.get(row.id, ())
            ),
            backgrounds=tuple(
                Background(text=text, source=source) for text, source in backgrounds.get(row.id, ())
            ),
            deleted=row.deleted_at is not None,
            added_at=row.added_at,
            changed_at=row.changed_at,
        )
        for row in rows
    ]


def whole_piece(session: Session, piece_id: int) -> PieceRecord:
    """A piece with its profile and numbers, as it stands in this transaction."""
    session.flush()
    (record,) = piece_records(session, Piece.id == piece_id)
    profile = session.get(Profile, piece_id)
    numbers = session.execute(select(Number.name, Number.value).where(Number.piece_id == piece_id))
    facts = replace(
        record.facts,
        profile=profile.body if profile else None,
        profile_version=profile.version if profile else None,
        numbers={number.name: number.value for number in numbers},
    )
    return replace(record, facts=facts)


def _facts(row: Any) -> PieceFacts:
    return PieceFacts(
        title=row.title,
        composer=row.composer,
        key=row.key,
        metre=row.metre,
        bars=row.bars,
        notes=row.notes_count,
        minutes=row.minutes,
        lowest=row.lowest,
        highest=row.highest,
        warnings=tuple(row.warnings),
    )


def _by_piece(
    session: Session, table: Any, columns: Sequence[InstrumentedAttribute[Any]], ids: list[int]
) -> Mapping[int, list[tuple[Any, ...]]]:
    """Rows that belong to pieces, by the piece, in the order that the teacher gave them."""
    query = (
        select(table.piece_id, *columns)
        .where(table.piece_id.in_(ids))
        .order_by(table.position, table.id)
    )
    found: dict[int, list[tuple[Any, ...]]] = defaultdict(list)
    for piece_id, *values in session.execute(query):
        found[piece_id].append(tuple(values))
    return found
