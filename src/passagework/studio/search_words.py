"""Words as the library is searched by them: without case and accents; and the order of titles.

An index of words lies in the database: SQLite's own full-text index where it has one, else a column that is looked
through. Both hold the same words and are asked for beginnings of words.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from typing import Any

from sqlalchemy import ColumnElement, select, text, update
from sqlalchemy.orm import Session, selectinload

from passagework.score.titles import title_of_file
from passagework.studio.tables_pieces import Piece

MOST_WORDS = 12
"""Words of a question that count; nobody types more."""

NUMBER_WIDTH = 6
"""Digits to which numbers are filled up, so that "No. 2" stands before "No. 10"."""

_LETTERS = str.maketrans(
    {"ł": "l", "ø": "o", "đ": "d", "æ": "ae", "œ": "oe", "þ": "th", "ð": "d", "ı": "i"}
)
"""Letters that do not come apart into a plain letter and an accent."""

INDEX = "piece_words"


def fold(value: str) -> str:
    """`value` without case and accents."""
    apart = unicodedata.normalize("NFKD", value.casefold())
    return "".join(c for c in apart if not unicodedata.combining(c)).translate(_LETTERS)


def words_of(value: str) -> list[str]:
    """The folded words of `value`, figures included."""
    return re.findall(r"[^\W_]+", fold(value))


def sort_key(value: str) -> str:
    """What to sort a title or a name by."""
    return " ".join(w.zfill(NUMBER_WIDTH) if w.isdecimal() else w for w in words_of(value))[:255]


def reindex(session: Session, piece_ids: Iterable[int], full_text: bool) -> None:
    """Bring the words of pieces up to date, in the transaction of the change."""
    ids = sorted(piece_ids)
    children = (Piece.tags, Piece.editions, Piece.levels, Piece.backgrounds)
    query = (
        select(Piece)
        .where(Piece.id.in_(ids))
        .options(*(selectinload(child) for child in children))
        .execution_options(populate_existing=True)
    )
    for piece in session.scalars(query):
        words = " ".join(words_of(" ".join(_texts(piece))))
        title = piece.own_title or piece.title or title_of_file(piece.file_name)
        composer = piece.own_composer or piece.composer
        session.execute(
            update(Piece)
            .where(Piece.id == piece.id)
            .values(
                search_text=f" {words} ",
                sort_title=sort_key(title),
                sort_composer=sort_key(composer),
                shown_composer=composer,
            )
            .execution_options(synchronize_session=False)
        )
        if full_text:
            _forget(session, piece.id)
            session.execute(
                text(f"INSERT INTO {INDEX} (rowid, title, words) VALUES (:id, :title, :words)"),
                {"id": piece.id, "title": " ".join(words_of(title)), "words": words},
            )
    session.expire_all()


def forget(session: Session, piece_id: int, full_text: bool) -> None:
    """Take a piece out of the index of words."""
    if full_text:
        _forget(session, piece_id)


def _forget(session: Session, piece_id: int) -> None:
    session.execute(text(f"DELETE FROM {INDEX} WHERE rowid = :id"), {"id": piece_id})


def matching(words: list[str], full_text: bool) -> list[ColumnElement[bool]]:
    """Conditions on `Piece` that every word of a question occurs, or a word that begins with it."""
    if full_text:
        found: Any = text(f"piece.id IN (SELECT rowid FROM {INDEX} WHERE {INDEX} MATCH :asked)")
        return [found.bindparams(asked=question(words))]
    return [Piece.search_text.contains(f" {word}", autoescape=True) for word in words[:MOST_WORDS]]


def question(words: list[str]) -> str:
    """The words as SQLite's full-text index is asked for them: all of them, or words that begin so."""
    return " ".join(f'"{word}"*' for word in words[:MOST_WORDS])


def _texts(piece: Piece) -> Iterable[str]:
    yield from (piece.title, piece.own_title, piece.composer, piece.own_composer)
    yield from (piece.file_name.rsplit(".", 1)[0], piece.key, piece.notes)
    yield from (tag.text for tag in piece.tags)
    for edition in piece.editions:
        yield from (edition.title, edition.publisher, edition.place, edition.notes)
    for level in piece.levels:
        yield from (level.level_list.name, level.label)
    for background in piece.backgrounds:
        yield from (background.text, background.source)
