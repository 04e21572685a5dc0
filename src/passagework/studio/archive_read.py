"""Reading an archive into a studio: first everything is checked, then everything is merged, in one transaction.

What is the same is not doubled: pieces are known by their content, the rest by `uid`, edits and skills by their place. Where both
studios have something and it differs, what was changed later stands. Nothing here is deleted by reading an archive; what was
deleted here and is in the archive comes back.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from passagework.studio import archive_tables as tables
from passagework.studio import checks
from passagework.studio.archive_tables import Entry, damaged, values_of
from passagework.studio.archive_zip import Bundle
from passagework.studio.blobs import hash_of
from passagework.studio.errors import StudioError
from passagework.studio.noted import checked_details
from passagework.studio.piece_records import Background, Edition, PieceDetails, PieceLevel

MOST_NUMBERS = 500
"""Of one piece's profile."""


@dataclass(frozen=True)
class Incoming:
    """An entry, checked."""

    values: dict[str, Any]
    """The columns; references as uids under ``"student"`` and ``"piece"``."""
    file: str | None = None
    """Name of its file in the archive."""
    details: PieceDetails | None = None
    numbers: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Contents:
    """Everything in an archive, checked."""

    rows: Mapping[str, tuple[Incoming, ...]]
    """By table."""
    level_lists: tuple[tuple[str, tuple[str, ...]], ...]
    settings: Mapping[str, Any]


def read_contents(bundle: Bundle) -> Contents:
    """Check an archive whole. Raises `StudioError` that says where it is wrong."""
    known: dict[str, frozenset[str]] = {"student": frozenset(), "piece": frozenset()}
    rows: dict[str, tuple[Incoming, ...]] = {}
    for kept in tables.TABLES:
        found = []
        seen: set[str] = set()
        for where, entry in _entries(bundle, kept.name):
            values = values_of(kept, entry, known, where)
            name = values.get("uid") or f"{values['student']}/{values['kind']}"
            if name in seen:
                raise damaged(where, "it is there twice")
            seen.add(name)
            found.append(_incoming(bundle, kept, values, entry, where))
        rows[kept.name] = tuple(found)
        if kept in (tables.STUDENTS, tables.PIECES):
            known[kept.name.removesuffix("s")] = frozenset(seen)
    settings = bundle.json("settings.json", dict) if bundle.has("settings.json") else {}
    return Contents(rows, _level_lists(bundle), checks.json_value(settings, "settings.json"))


def _entries(bundle: Bundle, name: str) -> Iterator[tuple[str, Entry]]:
    for number, entry in enumerate(bundle.json(f"{name}.json", list), 1):
        where = f"{name}.json, entry {number}"
        if not isinstance(entry, dict):
            raise damaged(where, "it is no object")
        yield where, entry


def _incoming(
    bundle: Bundle, kept: tables.Kept, values: dict[str, Any], entry: Entry, where: str
) -> Incoming:
    if kept is tables.PIECES:
        _check_file(bundle, "scores", values, entry.get("file"))
        return Incoming(
            values, entry.get("file"), _details(values, entry, where), _numbers(entry, where)
        )
    if kept is tables.TAKES:
        _check_file(bundle, "takes", values, entry.get("file"))
        return Incoming(values, entry.get("file"))
    return Incoming(values)


def _check_file(bundle: Bundle, folder: str, values: dict[str, Any], name: Any) -> None:
    """A file must be what its name says. It is read again when it is kept: none of it stays in memory."""
    data = bundle.file(name, folder, values["hash"])
    if data is not None and hash_of(data) != values["hash"]:
        raise damaged(str(name), "its content is not what its name says")
    if data is not None:
        values["size"] = len(data)


def _details(values: dict[str, Any], entry: Entry, where: str) -> PieceDetails:
    try:
        details = PieceDetails(
            own_title=values["own_title"],
            own_composer=values["own_composer"],
            notes=values["notes"],
            tags=tuple(_strings(entry["tags"])),
            editions=tuple(Edition(**_texts(e)) for e in _objects(entry["editions"])),
            levels=tuple(
                PieceLevel(list_name=lv["list"], label=lv["label"])
                for lv in map(_texts, _objects(entry["levels"]))
            ),
            backgrounds=tuple(Background(**_texts(b)) for b in _objects(entry["backgrounds"])),
        )
        return checked_details(details)
    except (KeyError, TypeError, AttributeError):
        raise damaged(where, "what is noted about the piece is not of the right form") from None
    except StudioError as error:
        raise damaged(where, str(error)) from None


def _numbers(entry: Entry, where: str) -> dict[str, float]:
    numbers = entry.get("numbers")
    if not isinstance(numbers, dict) or len(numbers) > MOST_NUMBERS:
        raise damaged(where, "its numbers are not of the right form")
    for name, value in numbers.items():
        if len(name) > 80 or type(value) not in (int, float):
            raise damaged(where, f"the number {name[:40]!r} is none")
    return {checks.line(name, where): float(value) for name, value in numbers.items()}


def _level_lists(bundle: Bundle) -> tuple[tuple[str, tuple[str, ...]], ...]:
    found = []
    for where, entry in _entries(bundle, "level_lists"):
        try:
            name = checks.line(entry["name"], "the name", checks.NAME_LENGTH)
            labels = [checks.line(label, "a level", 80) for label in _strings(entry["labels"])]
        except (KeyError, TypeError):
            raise damaged(where, "it is not of the right form") from None
        except StudioError as error:
            raise damaged(where, str(error)) from None
        found.append((checks.needed(name, "the list's name"), tuple(dict.fromkeys(labels))))
    return tuple(found)


def _strings(value: Any) -> list[str]:
    if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
        raise TypeError
    return value


def _objects(value: Any) -> list[dict[str, Any]]:
    if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
        raise TypeError
    return value


def _texts(value: dict[str, Any]) -> dict[str, str]:
    if not all(isinstance(text, str) for text in value.values()):
        raise TypeError
    return value
