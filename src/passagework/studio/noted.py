"""What a teacher notes about a piece, written to its tables: row by row, so that the undo log holds what differs and no more."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, TypeVar

from sqlalchemy import select
from sqlalchemy.orm import Session

from passagework.studio import checks
from passagework.studio.changes import Change
from passagework.studio.columns import Base
from passagework.studio.errors import StudioError
from passagework.studio.piece_records import Background, Edition, PieceDetails, PieceLevel
from passagework.studio.tables_pieces import (
    Level,
    LevelList,
    Piece,
    PieceBackground,
    PieceEdition,
    Tag,
)

Child = TypeVar("Child", bound=Base)

LABEL_LENGTH = 80


def checked_details(details: PieceDetails) -> PieceDetails:
    """The details, cleaned; raises `StudioError` for what cannot be kept."""
    for items, what in (
        (details.tags, "tags"),
        (details.editions, "editions"),
        (details.levels, "levels"),
        (details.backgrounds, "notes on the background"),
    ):
        if len(items) > checks.MOST_ITEMS:
            raise StudioError(f"there are more than {checks.MOST_ITEMS} {what}")
    tags = (checks.line(tag, "a tag", LABEL_LENGTH) for tag in details.tags)
    return PieceDetails(
        own_title=checks.line(details.own_title, "the title"),
        own_composer=checks.line(details.own_composer, "the composer"),
        notes=checks.text(details.notes, "the note"),
        tags=tuple(dict.fromkeys(tag for tag in tags if tag)),
        editions=tuple(_edition(edition) for edition in details.editions),
        levels=_levels(details.levels),
        backgrounds=tuple(
            Background(
                text=checks.needed(checks.text(b.text, "the background"), "the background"),
                source=checks.text(b.source, "the source", 1000),
            )
            for b in details.backgrounds
        ),
    )


def _edition(edition: Edition) -> Edition:
    title = checks.line(edition.title, "the edition's title")
    return Edition(
        title=checks.needed(title, "the edition's title"),
        publisher=checks.line(edition.publisher, "the publisher"),
        place=checks.line(edition.place, "the page", LABEL_LENGTH),
        notes=checks.text(edition.notes, "the note on the edition"),
    )


def _levels(levels: Sequence[PieceLevel]) -> tuple[PieceLevel, ...]:
    found = {level.list_name: level for level in map(checked_level, levels)}
    if len(found) != len(levels):
        raise StudioError("a piece stands once on each list of levels")
    return tuple(found.values())


def checked_level(level: PieceLevel) -> PieceLevel:
    """A level with its list, cleaned."""
    name = checks.line(level.list_name, "the list's name", checks.NAME_LENGTH)
    label = checks.line(level.label, "the level", LABEL_LENGTH)
    return PieceLevel(
        list_name=checks.needed(name, "the list's name"), label=checks.needed(label, "the level")
    )


def note_details(change: Change, piece: Piece, details: PieceDetails) -> None:
    """Write checked details; lists of levels that do not exist yet are made, labels that a list lacks are added at its end."""
    session = change.session
    change.touched.add(piece.id)
    piece.own_title, piece.own_composer = details.own_title, details.own_composer
    piece.notes = details.notes
    piece.changed_at = change.now
    _fill(session, piece, piece.tags, [{"text": tag} for tag in details.tags], Tag)
    editions = [
        {"title": e.title, "publisher": e.publisher, "place": e.place, "notes": e.notes}
        for e in details.editions
    ]
    _fill(session, piece, piece.editions, editions, PieceEdition)
    backgrounds = [{"text": b.text, "source": b.source} for b in details.backgrounds]
    _fill(session, piece, piece.backgrounds, backgrounds, PieceBackground)
    _fill_levels(session, piece, details.levels)


def _fill(
    session: Session,
    piece: Piece,
    rows: Sequence[Child],
    wanted: Sequence[dict[str, Any]],
    table: type[Child],
) -> None:
    """Make `rows` say what is wanted: in place as far as they go, then added or taken out."""
    for position, (row, values) in enumerate(zip(rows, wanted, strict=False)):
        for name, value in {**values, "position": position}.items():
            setattr(row, name, value)
    for row in rows[len(wanted) :]:
        session.delete(row)
    for position in range(len(rows), len(wanted)):
        session.add(table(piece_id=piece.id, position=position, **wanted[position]))


def _fill_levels(session: Session, piece: Piece, wanted: Sequence[PieceLevel]) -> None:
    standing = {row.level_list.name: row for row in piece.levels}
    for position, level in enumerate(wanted):
        put_level(session, piece, standing.pop(level.list_name, None), level, position)
    for row in standing.values():
        session.delete(row)


def put_level(
    session: Session, piece: Piece, row: Level | None, level: PieceLevel, position: int
) -> None:
    """Place a piece on a list; `row` is where it stands there now."""
    chosen = list_named(session, level.list_name)
    if level.label not in chosen.labels:
        chosen.labels = [*chosen.labels, level.label]
    if row is None:
        row = Level(piece_id=piece.id, list_id=chosen.id)
        session.add(row)
    row.label, row.position = level.label, position


def list_named(session: Session, name: str) -> LevelList:
    """The list of this name, made where there is none."""
    found = session.scalar(select(LevelList).where(LevelList.name == name))
    if found is None:
        found = LevelList(name=name, labels=[])
        session.add(found)
        session.flush()
    return found
