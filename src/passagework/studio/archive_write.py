"""Writing an archive: everything, or one student with the pieces that concern them."""

from __future__ import annotations

import csv
import io
import json
import re
import zipfile
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import PurePath
from typing import Any, BinaryIO

from sqlalchemy import or_, select
from sqlalchemy.orm import Session, selectinload

from passagework import __version__
from passagework.studio import archive_tables as tables
from passagework.studio.archive_tables import FORMAT, Entry, Kept, entry_of
from passagework.studio.blobs import Blobs
from passagework.studio.database import Database
from passagework.studio.errors import StudioError
from passagework.studio.removal import CLEANING_DUE
from passagework.studio.tables_people import (
    Edit,
    Lesson,
    Student,
    Study,
    Take,
    TakeResult,
)
from passagework.studio.tables_pieces import LevelList, Number, Piece, Profile
from passagework.studio.tables_studio import Setting

SPREADSHEET_SIGNS = ("=", "+", "-", "@", "\t", "\r")
"""What makes a spreadsheet take a cell for a formula; a quotation mark before it makes it a text again."""

SHOWN_AS_TABLES = ("students", "pieces", "studies", "lessons", "takes", "edits", "skills")


@dataclass(frozen=True, slots=True)
class ArchiveReport:
    """What was written."""

    counts: Mapping[str, int]
    """Entries by table."""
    files: int
    missing: tuple[str, ...] = ()
    """Names of scores and takes whose files were missing or damaged, so that only what is known of them went in."""


@dataclass(frozen=True)
class Chosen:
    """What is exported: everything, or what concerns one student."""

    student_id: int | None = None
    with_scores: bool = True
    now: str = ""


@dataclass
class _Out:
    archive: zipfile.ZipFile
    files: int = 0
    missing: list[str] = field(default_factory=list)

    def json(self, name: str, value: Any) -> None:
        self.archive.writestr(name, json.dumps(value, indent=1, sort_keys=True, allow_nan=False))


def write_archive(
    db: Database, scores: Blobs, takes: Blobs, file: BinaryIO, chosen: Chosen
) -> ArchiveReport:
    """Write to `file`, of one state of the database."""
    with (
        db.read() as session,
        zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED, allowZip64=True) as archive,
    ):
        out = _Out(archive)
        rows = {kept.name: _rows(session, kept, chosen) for kept in tables.TABLES}
        rows["pieces"] = _pieces(session, rows, chosen)
        uids = {
            "student": {row.id: row.uid for row in rows["students"]},
            "piece": {row.id: row.uid for row in rows["pieces"]},
        }
        entries = {
            kept.name: [entry_of(r, uids) for r in rows[kept.name]] for kept in tables.TABLES
        }
        for row, entry in zip(rows["pieces"], entries["pieces"], strict=True):
            entry |= _piece_more(row)
            entry["file"] = _score(out, scores, row) if chosen.with_scores else None
            entry["numbers"] = _profile(out, session, row)
        for row, entry in zip(rows["takes"], entries["takes"], strict=True):
            entry["file"] = _take(out, takes, row)
            entry["result"] = _result(out, session, row)
        entries["level_lists"] = _level_lists(session, entries["pieces"], chosen)
        for name, found in entries.items():
            out.json(f"{name}.json", found)
        if chosen.student_id is None:
            out.json("settings.json", _settings(session))
        _csv_tables(out, entries)
        counts = {name: len(found) for name, found in entries.items()}
        out.json("manifest.json", _manifest(chosen, counts))
    return ArchiveReport(counts, out.files, tuple(out.missing))


def _manifest(chosen: Chosen, counts: Mapping[str, int]) -> Entry:
    return {
        "format": FORMAT,
        "program": __version__,
        "made_at": chosen.now,
        "scope": "everything" if chosen.student_id is None else "student",
        "counts": dict(counts),
    }


def _rows(session: Session, kept: Kept, chosen: Chosen) -> list[Any]:
    """The rows of a table that are wanted, in order of their making; pieces come later, by what speaks of them."""
    if kept is tables.PIECES:
        return []
    table: Any = kept.table
    query = select(table).order_by(table.id)
    if kept.table in (Lesson, Take):
        query = query.where(table.deleted_at.is_(None))
    if chosen.student_id is not None:
        if kept.table is Student:
            query = query.where(Student.id == chosen.student_id)
        elif kept.table is Edit:
            # What holds for every student goes along, for the pieces that this one played.
            played = [
                select(t.piece_id).where(t.student_id == chosen.student_id) for t in (Study, Take)
            ]
            general = Edit.student_id.is_(None) & or_(*(Edit.piece_id.in_(p) for p in played))
            query = query.where(or_(Edit.student_id == chosen.student_id, general))
        else:
            query = query.where(table.student_id == chosen.student_id)
    return list(session.scalars(query))


def _pieces(session: Session, rows: Mapping[str, Sequence[Any]], chosen: Chosen) -> list[Piece]:
    wanted = {
        row.piece_id
        for name in ("studies", "takes", "plans", "edits")
        for row in rows[name]
        if row.piece_id is not None
    }
    children = (Piece.tags, Piece.editions, Piece.levels, Piece.backgrounds)
    query = select(Piece).order_by(Piece.id).options(*map(selectinload, children))
    found = session.scalars(query)
    everything = chosen.student_id is None
    return [p for p in found if p.id in wanted or (everything and p.deleted_at is None)]


def _piece_more(row: Piece) -> Entry:
    return {
        "tags": [tag.text for tag in row.tags],
        "editions": [
            {"title": e.title, "publisher": e.publisher, "place": e.place, "notes": e.notes}
            for e in row.editions
        ],
        "levels": [{"list": lv.level_list.name, "label": lv.label} for lv in row.levels],
        "backgrounds": [{"text": b.text, "source": b.source} for b in row.backgrounds],
    }


def _score(out: _Out, scores: Blobs, row: Piece) -> str | None:
    if row.deleted_at is not None:
        return None  # students keep its title; the score itself was taken out of the library
    return _file(out, scores, f"scores/{row.hash}{_ending(row.file_name)}", row)


def _take(out: _Out, takes: Blobs, row: Take) -> str | None:
    return _file(out, takes, f"takes/{row.hash}{_ending(row.file_name)}", row)


def _file(out: _Out, store: Blobs, name: str, row: Piece | Take) -> str | None:
    if name in out.archive.NameToInfo:
        return name
    try:
        data = store.get(row.hash)
    except StudioError:
        out.missing.append(row.file_name or name)
        return None
    # Recordings are compressed already, or are noise to a compressor.
    packed = zipfile.ZIP_STORED if name.startswith("takes/") else zipfile.ZIP_DEFLATED
    out.archive.writestr(name, data, packed)
    out.files += 1
    return name


def _ending(file_name: str) -> str:
    ending = PurePath(file_name).suffix.lower()
    return ending if re.fullmatch(r"\.[a-z0-9]{1,8}", ending) else ""


def _profile(out: _Out, session: Session, row: Piece) -> dict[str, float]:
    held = session.get(Profile, row.id)
    if held is not None:
        out.json(f"profiles/{row.uid}.json", {"version": held.version, "body": held.body})
    numbers = select(Number.name, Number.value).where(Number.piece_id == row.id)
    return {number.name: number.value for number in session.execute(numbers)}


def _result(out: _Out, session: Session, row: Take) -> bool:
    held = session.get(TakeResult, row.id)
    if held is not None:
        out.json(f"results/{row.uid}.json", {"version": held.version, "body": held.body})
    return held is not None


def _level_lists(session: Session, pieces: Iterable[Entry], chosen: Chosen) -> list[Entry]:
    used = {level["list"] for piece in pieces for level in piece["levels"]}
    rows = session.scalars(select(LevelList).order_by(LevelList.name))
    everything = chosen.student_id is None
    return [{"name": r.name, "labels": r.labels} for r in rows if everything or r.name in used]


def _settings(session: Session) -> Entry:
    rows = session.scalars(select(Setting).order_by(Setting.name))
    return {row.name: row.value for row in rows if row.name != CLEANING_DUE}


def _csv_tables(out: _Out, entries: Mapping[str, Sequence[Entry]]) -> None:
    """The same for a spreadsheet: names in the place of uids, and no columns within columns."""
    names = {entry["uid"]: entry["name"] for entry in entries["students"]}
    names |= {e["uid"]: e["own_title"] or e["title"] or e["file_name"] for e in entries["pieces"]}
    for table in SHOWN_AS_TABLES:
        rows = [_flat(entry, names) for entry in entries[table]]
        columns = list(dict.fromkeys(name for row in rows for name in row))
        text = io.StringIO()
        writer = csv.DictWriter(text, columns, restval="")
        writer.writeheader()
        writer.writerows(rows)
        out.archive.writestr(f"tables/{table}.csv", "\ufeff" + text.getvalue())


def _flat(entry: Entry, names: Mapping[str, str]) -> dict[str, str]:
    row: dict[str, str] = {}
    for name, value in entry.items():
        if name in ("uid", "hash") or isinstance(value, dict):
            continue
        if name in ("student", "piece"):
            value = names.get(value or "", "")
        if isinstance(value, list):
            value = "; ".join(str(v) for v in value if not isinstance(v, dict))
        row[name] = _cell(value)
    return row


def _cell(value: Any) -> str:
    if value is None:
        return ""
    text = str(value)
    return f"'{text}" if isinstance(value, str) and text.startswith(SPREADSHEET_SIGNS) else text
