"""The teacher's lists of levels: typed in, or read from a table in CSV."""

from __future__ import annotations

import csv
import io
import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from passagework.studio import checks
from passagework.studio.changes import Change
from passagework.studio.database import Database
from passagework.studio.errors import ConflictError, StudioError
from passagework.studio.noted import LABEL_LENGTH, list_named, put_level
from passagework.studio.piece_records import LevelList as LevelListRecord
from passagework.studio.piece_records import PieceLevel
from passagework.studio.records import Done
from passagework.studio.search_words import sort_key, words_of
from passagework.studio.tables_pieces import Level, LevelList, Piece

MOST_ROWS = 20_000
MOST_CSV_BYTES = 4_000_000

MOST_LABELS = 100

TITLE_NAMES = ("title", "piece")
COMPOSER_NAMES = ("composer",)
LEVEL_NAMES = ("level", "grade")
FILE_NAMES = ("file", "path")
"""Headings by which a column is known; case does not count."""


@dataclass(frozen=True, slots=True)
class LevelRow:
    """One line of a table of levels."""

    line: int
    title: str
    composer: str
    file_name: str
    label: str


@dataclass(frozen=True, slots=True)
class LevelImport:
    """What came of a table."""

    placed: int
    """Pieces placed on the list."""
    unknown: tuple[LevelRow, ...]
    """Rows whose piece is not in the library."""
    doubtful: tuple[LevelRow, ...]
    """Rows that fit several pieces; none was placed by them."""


class Levels:
    """The lists of levels."""

    def __init__(self, db: Database) -> None:
        self._db = db

    def lists(self) -> tuple[LevelListRecord, ...]:
        """All lists, by name."""
        placed = (
            select(Level.list_id, func.count().label("pieces"))
            .join(Piece, Piece.id == Level.piece_id)
            .where(Piece.deleted_at.is_(None))
            .group_by(Level.list_id)
            .subquery()
        )
        query = select(LevelList, placed.c.pieces).outerjoin(
            placed, placed.c.list_id == LevelList.id
        )
        with self._db.read() as session:
            found = [_record(row, count or 0) for row, count in session.execute(query)]
        return tuple(sorted(found, key=lambda row: row.name.casefold()))

    def make(self, name: str, labels: Sequence[str]) -> Done[LevelListRecord]:
        """A new list; labels easiest first."""
        name = _name(name)
        wanted = _labels(labels)
        with self._db.write(f"Made the list {name}") as change:
            if change.session.scalar(select(LevelList).where(LevelList.name == name)):
                raise ConflictError(f"there is a list called {name} already")
            row = list_named(change.session, name)
            row.labels = wanted
            record = _record(row, 0)
        return change.done(record)

    def change(self, list_id: int, name: str, labels: Sequence[str]) -> Done[LevelListRecord]:
        """Rename a list, or put its labels in another order. Labels in use may not be left out."""
        name = _name(name)
        wanted = _labels(labels)
        with self._db.write(f"Changed the list {name}") as change:
            session = change.session
            row = checks.get_row(session, LevelList, list_id, "list of levels")
            other = session.scalar(select(LevelList).where(LevelList.name == name))
            if other is not None and other.id != row.id:
                raise ConflictError(f"there is a list called {name} already")
            used = set(session.scalars(select(Level.label).where(Level.list_id == row.id)))
            lost = sorted(used - set(wanted))
            if lost:
                raise ConflictError(f"pieces stand at {', '.join(lost[:5])}", do="keep the level")
            if row.name != name:
                _touch(change, row.id)
            row.name, row.labels = name, wanted
            record = _record(row, _count(session, row.id))
        return change.done(record)

    def delete(self, list_id: int) -> Done[None]:
        """Take a list out, with every piece's place on it."""
        with self._db.write("Deleted a list of levels") as change:
            row = checks.get_row(change.session, LevelList, list_id, "list of levels")
            change.label = f"Deleted the list {row.name}"
            _touch(change, row.id)
            for level in change.session.scalars(select(Level).where(Level.list_id == row.id)):
                change.session.delete(level)
            change.session.flush()
            change.session.delete(row)
        return change.done(None)

    def import_csv(self, list_name: str, data: bytes) -> Done[LevelImport]:
        """Place pieces on a list by a table with the columns title, composer (optional) and level, or file and level.

        A row is about the piece whose title has the same words; the composer decides between several, as far as it is given.
        Raises `StudioError` for a table that cannot be read; nothing is changed then.
        """
        name = _name(list_name)
        rows = read_csv(data)
        with self._db.write(f"Read levels into the list {name}") as change:
            result = _place(change, name, rows)
        return change.done(result)


def read_csv(data: bytes) -> tuple[LevelRow, ...]:
    """The rows of a table of levels. Raises `StudioError` that names the line and what to do."""
    if len(data) > MOST_CSV_BYTES:
        raise StudioError(f"the table is larger than {MOST_CSV_BYTES // 1_000_000} MB")
    text = _decoded(data)
    try:
        dialect: type[csv.Dialect] | str = csv.Sniffer().sniff(text[:4096], ",;\t")
    except csv.Error:
        dialect = "excel"
    try:
        table = list(csv.reader(io.StringIO(text), dialect))
    except csv.Error as error:
        raise StudioError(f"the table cannot be read ({error})", do="save it as CSV") from None
    if len(table) > MOST_ROWS:
        raise StudioError(f"the table has more than {MOST_ROWS} rows")
    if not table:
        raise StudioError("the table is empty")
    columns = _columns(table[0])
    found = []
    for number, cells in enumerate(table[1:], 2):
        if any(cell.strip() for cell in cells):
            found.append(_row(number, cells, columns))
    return tuple(found)


def _decoded(data: bytes) -> str:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        encodings = ["utf-16"]
    else:
        encodings = ["utf-8-sig", "cp1252"]  # what spreadsheets save by default on older systems
    for encoding in encodings:
        try:
            return data.decode(encoding).replace("\0", "")
        except UnicodeDecodeError:
            continue
    raise StudioError("the table is not a text", do="save it as CSV in UTF-8")


def _columns(heading: Sequence[str]) -> dict[str, int]:
    names = [cell.strip().casefold() for cell in heading]
    found = {}
    for column, known in (
        ("title", TITLE_NAMES),
        ("composer", COMPOSER_NAMES),
        ("file", FILE_NAMES),
        ("level", LEVEL_NAMES),
    ):
        places = [i for i, name in enumerate(names) if name in known]
        if len(places) > 1:
            raise StudioError(f"line 1: the heading has two columns called {names[places[0]]}")
        if places:
            found[column] = places[0]
    if "level" not in found or not {"title", "file"} & set(found):
        raise StudioError(
            "line 1: the table needs a heading with the columns title and level",
            do="write title,composer,level into the first line",
        )
    return found


def _row(number: int, cells: Sequence[str], columns: dict[str, int]) -> LevelRow:
    def cell(name: str) -> str:
        place = columns.get(name)
        return cells[place].strip() if place is not None and place < len(cells) else ""

    try:
        title, composer = (
            checks.line(cell("title"), "the title"),
            checks.line(cell("composer"), "the composer"),
        )
        file_name = checks.line(cell("file"), "the file").replace("\\", "/").rsplit("/", 1)[-1]
        label = checks.line(cell("level"), "the level", LABEL_LENGTH)
    except StudioError as error:
        raise StudioError(f"line {number}: {error}") from None
    if not label:
        raise StudioError(f"line {number}: the level is missing")
    if not title and not file_name:
        raise StudioError(f"line {number}: the title is missing")
    return LevelRow(number, title, composer, file_name, label)


def _place(change: Change, list_name: str, rows: Sequence[LevelRow]) -> LevelImport:
    session = change.session
    chosen = list_named(session, list_name)
    known = bool(chosen.labels)
    standing = {
        level.piece_id: level
        for level in session.scalars(select(Level).where(Level.list_id == chosen.id))
    }
    by_title, by_file = _by_name(session)
    placed: dict[int, str] = {}
    unknown: list[LevelRow] = []
    doubtful: list[LevelRow] = []
    for row in rows:
        fits = _fitting(row, by_title, by_file)
        if not fits:
            unknown.append(row)
        elif len(fits) > 1 or placed.get(fits[0].id, row.label) != row.label:
            doubtful.append(row)
        elif fits[0].id not in placed:
            piece, old = fits[0], standing.get(fits[0].id)
            level = PieceLevel(list_name=list_name, label=row.label)
            put_level(session, piece, old, level, old.position if old else len(piece.levels))
            placed[piece.id] = row.label
            change.touched.add(piece.id)
    if not known and all(re.search(r"\d", label) for label in chosen.labels):
        chosen.labels = sorted(chosen.labels, key=sort_key)
    session.flush()
    return LevelImport(len(placed), tuple(unknown), tuple(doubtful))


Names = dict[tuple[str, ...], list[Piece]]


def _by_name(session: Session) -> tuple[Names, Names]:
    by_title: Names = defaultdict(list)
    by_file: Names = defaultdict(list)
    for piece in session.scalars(select(Piece).where(Piece.deleted_at.is_(None))):
        for title in {piece.title, piece.own_title} - {""}:
            by_title[tuple(words_of(title))].append(piece)
        by_file[piece.file_name.casefold(),].append(piece)
    return by_title, by_file


def _fitting(row: LevelRow, by_title: Names, by_file: Names) -> list[Piece]:
    fits = by_file.get((row.file_name.casefold(),), []) if row.file_name else []
    if not fits and row.title:
        fits = by_title.get(tuple(words_of(row.title)), [])
    if row.composer:
        asked = set(words_of(row.composer))
        fits = [p for p in fits if asked & set(words_of(p.own_composer or p.composer))]
    return fits


def _record(row: LevelList, pieces: int) -> LevelListRecord:
    return LevelListRecord(id=row.id, name=row.name, labels=tuple(row.labels), pieces=pieces)


def _count(session: Session, list_id: int) -> int:
    query = select(func.count()).select_from(Level).where(Level.list_id == list_id)
    return session.scalar(query) or 0


def _touch(change: Change, list_id: int) -> None:
    query = select(Level.piece_id).where(Level.list_id == list_id)
    change.touched.update(change.session.scalars(query))


def _name(name: str) -> str:
    cleaned = checks.line(name, "the list's name", checks.NAME_LENGTH)
    return checks.needed(cleaned, "the list's name")


def _labels(labels: Sequence[str]) -> list[str]:
    cleaned = [checks.line(label, "a level", LABEL_LENGTH) for label in labels]
    found = list(dict.fromkeys(label for label in cleaned if label))
    if len(found) > MOST_LABELS:
        raise StudioError(f"a list has at most {MOST_LABELS} levels")
    return found
