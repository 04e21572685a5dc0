"""The library as it is searched: words, filters, order, pages. Quick with 300 pieces, usable with 100,000."""

from __future__ import annotations

from collections.abc import Mapping
from math import ceil
from types import MappingProxyType
from typing import Any

from sqlalchemy import ColumnElement, Select, column, distinct, func, select, table, text
from sqlalchemy.orm import InstrumentedAttribute

from passagework.studio.database import Database
from passagework.studio.errors import StudioError
from passagework.studio.piece_records import Between, PiecePage, PieceQuery
from passagework.studio.piece_rows import piece_records
from passagework.studio.search_words import INDEX, matching, question, words_of
from passagework.studio.tables_people import Study
from passagework.studio.tables_pieces import (
    Level,
    LevelList,
    Number,
    Piece,
    PieceEdition,
    Tag,
)

MOST_ON_A_PAGE = 500

MOST_PAGES = 1_000_000

SORTS: Mapping[str, InstrumentedAttribute[Any]] = MappingProxyType(
    {
        "title": Piece.sort_title,
        "composer": Piece.sort_composer,
        "added": Piece.added_at,
        "level": Piece.level_score,
        "bars": Piece.bars,
        "notes": Piece.notes_count,
        "minutes": Piece.minutes,
        "key": Piece.key,
        "metre": Piece.metre,
    }
)
"""Orders by name."""

WORDS = table(INDEX, column("rowid"))

TITLE_WEIGHT = 8.0
"""A word in the title says more than one in the notes: the weight of SQLite's ranking (bm25, a measure that a word counts by
how rare it is and how short the text), chosen so that a title wins over a note that repeats the word."""

NUMBER_NAMES = text(
    "WITH RECURSIVE names(name) AS (SELECT min(name) FROM piece_number UNION ALL "
    "SELECT (SELECT min(n.name) FROM piece_number n WHERE n.name > names.name) FROM names "
    "WHERE names.name IS NOT NULL) SELECT name FROM names WHERE name IS NOT NULL"
)
"""From one name to the next in the index: there are a few dozen of them, and a row of each for every piece."""

MAY_BE_MISSING = frozenset({"level", "minutes"})


class Library:
    """Searches of the library."""

    def __init__(self, db: Database) -> None:
        self._db = db

    def search(self, query: PieceQuery) -> PiecePage:
        """One page of the pieces that a question fits. Raises `StudioError` for an order that does not exist."""
        words = words_of(query.text)
        conditions = _conditions(query)
        if words:
            conditions += matching(words, self._db.full_text)
        size = max(1, min(query.page_size, MOST_ON_A_PAGE))
        with self._db.read() as session:
            counting = select(func.count()).select_from(Piece).where(*conditions)
            total = session.scalar(counting) or 0
            pages = max(1, ceil(total / size))
            page = max(1, min(query.page, pages, MOST_PAGES))
            ids = self._ordered(select(Piece.id).where(*conditions), query, words)
            wanted = list(session.scalars(ids.limit(size).offset((page - 1) * size)))
            found = piece_records(session, Piece.id.in_(wanted))
            by_id = {piece.id: piece for piece in found}
        return PiecePage(
            pieces=tuple(by_id[i] for i in wanted), total=total, page=page, pages=pages
        )

    def _ordered(self, ids: Select[int], query: PieceQuery, words: list[str]) -> Select[int]:
        if query.sort == "relevance":
            if words and self._db.full_text:
                asked = text(f"{INDEX} MATCH :ranked").bindparams(ranked=question(words))
                return (
                    ids.join(WORDS, WORDS.c.rowid == Piece.id)
                    .where(asked)
                    .order_by(
                        text(f"bm25({INDEX}, {TITLE_WEIGHT}, 1.0)"), Piece.sort_title, Piece.id
                    )
                )
            return ids.order_by(Piece.sort_title, Piece.id)
        if query.sort in SORTS:
            sorted_by: Any = SORTS[query.sort]
            missing = query.sort in MAY_BE_MISSING
        elif ":" in query.sort:
            mine = (Number.piece_id == Piece.id) & (Number.name == query.sort)
            ids = ids.outerjoin(Number, mine)
            sorted_by, missing = Number.value, True
        else:
            raise StudioError(f"pieces are not sorted by {query.sort[:40]!r}")
        order = sorted_by.desc() if query.descending else sorted_by.asc()
        last = (sorted_by.is_(None),) if missing else ()
        tie = Piece.id.desc() if query.descending else Piece.id.asc()
        return ids.order_by(*last, order, tie)

    def composers(self) -> tuple[tuple[str, int], ...]:
        """Composers with the number of their pieces, by name."""
        return self._counted(Piece.shown_composer, Piece.sort_composer)

    def keys(self) -> tuple[tuple[str, int], ...]:
        """Keys, with the number of pieces in each."""
        return self._counted(Piece.key, Piece.key)

    def metres(self) -> tuple[tuple[str, int], ...]:
        """Metres, with the number of pieces in each."""
        return self._counted(Piece.metre, Piece.metre)

    def tags(self) -> tuple[tuple[str, int], ...]:
        """Tags, with the number of pieces that carry each."""
        return self._counted_in(Tag.text, Tag.piece_id)

    def collections(self) -> tuple[tuple[str, int], ...]:
        """Titles of editions and collections, with the number of pieces in each."""
        return self._counted_in(PieceEdition.title, PieceEdition.piece_id)

    def number_names(self) -> tuple[str, ...]:
        """Names of the measured numbers that pieces can be searched and sorted by."""
        with self._db.read() as session:
            return tuple(session.scalars(NUMBER_NAMES))

    def _counted(
        self, column: InstrumentedAttribute[str], order: InstrumentedAttribute[str]
    ) -> tuple[tuple[str, int], ...]:
        query = (
            select(column, func.count())
            .where(Piece.deleted_at.is_(None), column != "")
            .group_by(column)
            .order_by(func.min(order), column)
        )
        with self._db.read() as session:
            return tuple((name, count) for name, count in session.execute(query))

    def _counted_in(
        self, column: InstrumentedAttribute[str], piece_id: InstrumentedAttribute[int]
    ) -> tuple[tuple[str, int], ...]:
        query = (
            select(column, func.count(distinct(piece_id)))
            .join(Piece, Piece.id == piece_id)
            .where(Piece.deleted_at.is_(None))
            .group_by(column)
            .order_by(func.lower(column), column)
        )
        with self._db.read() as session:
            return tuple((name, count) for name, count in session.execute(query))


def _conditions(query: PieceQuery) -> list[ColumnElement[bool]]:
    found: list[ColumnElement[bool]] = []
    if query.deleted:
        found += [Piece.deleted_at.is_not(None), Piece.emptied.is_(False)]
    else:
        found.append(Piece.deleted_at.is_(None))
    for shown, value in (
        (Piece.shown_composer, query.composer),
        (Piece.key, query.key),
        (Piece.metre, query.metre),
    ):
        if value:
            found.append(shown == value)
    for measured, between in (
        (Piece.bars, query.bars),
        (Piece.minutes, query.minutes),
        (Piece.level_score, query.level_score),
    ):
        found += _between(measured, between)
    for name, between in query.numbers.items():
        mine = select(Number.piece_id).where(Number.name == name, *_between(Number.value, between))
        found.append(Piece.id.in_(mine))
    return found + _belonging(query)


def _belonging(query: PieceQuery) -> list[ColumnElement[bool]]:
    found: list[ColumnElement[bool]] = []
    if query.tag:
        found.append(Piece.id.in_(select(Tag.piece_id).where(Tag.text == query.tag)))
    if query.collection:
        printed = select(PieceEdition.piece_id).where(PieceEdition.title == query.collection)
        found.append(Piece.id.in_(printed))
    if query.level_list:
        placed = (
            select(Level.piece_id)
            .join(LevelList, LevelList.id == Level.list_id)
            .where(LevelList.name == query.level_list)
        )
        if query.level_labels:
            placed = placed.where(Level.label.in_(query.level_labels))
        found.append(Piece.id.in_(placed))
    if query.studied_by is not None:
        mine = select(Study.piece_id).where(Study.student_id == query.studied_by)
        found.append(Piece.id.in_(mine))
    if query.not_studied_by is not None:
        others = select(Study.piece_id).where(Study.student_id == query.not_studied_by)
        found.append(Piece.id.not_in(others))
    return found


def _between(
    column: InstrumentedAttribute[Any], between: Between | None
) -> list[ColumnElement[bool]]:
    found: list[ColumnElement[bool]] = []
    if between is not None and between.low is not None:
        found.append(column >= between.low)
    if between is not None and between.high is not None:
        found.append(column <= between.high)
    return found
