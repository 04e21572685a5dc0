"""What an archive holds of each table: rows as JSON objects that name each other by `uid`, never by a studio's own numbers.

An entry is checked against the columns it will fill before anything is written: an archive is a stranger's file.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Boolean, Date, Float, Integer, String, Text

from passagework.studio import checks
from passagework.studio.changes import columns_of
from passagework.studio.columns import Base, ClockTime, JsonText, Moment, from_plain, to_plain
from passagework.studio.errors import StudioError
from passagework.studio.records import STUDY_RESULTS, STUDY_STATUSES, TAKE_KINDS, TAKE_STATUSES
from passagework.studio.rows import hands_of
from passagework.studio.tables_people import Edit, Lesson, Plan, Skill, Student, Study, Take
from passagework.studio.tables_pieces import Piece
from passagework.teaching.student import AGES

FORMAT = "passagework.studio/1"

UID = re.compile(r"[0-9a-f]{32}")
HASH = re.compile(r"[0-9a-f]{64}")

REFERENCES = {"student_id": "student", "piece_id": "piece"}
"""Columns that name another row, and what they are called in an entry."""

LEFT_OUT = frozenset(
    ["id", "deleted_at", "emptied", "shown_composer", "sort_title", "sort_composer", "search_text"]
)
"""Columns that are this studio's own business, or follow from others."""

MAY_REFER_TO_NOTHING = frozenset({("take", "piece"), ("plan", "piece"), ("edit", "student")})


@dataclass(frozen=True, slots=True)
class Kept:
    """A table of the archive."""

    name: str
    """Of its file: ``students.json``."""
    table: type[Base]
    choices: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Columns that hold one of a few words."""


STUDENTS = Kept("students", Student)
PIECES = Kept("pieces", Piece)
STUDIES = Kept("studies", Study, {"status": STUDY_STATUSES, "result": STUDY_RESULTS})
LESSONS = Kept("lessons", Lesson)
TAKES = Kept("takes", Take, {"kind": TAKE_KINDS, "status": TAKE_STATUSES})
PLANS = Kept("plans", Plan)
EDITS = Kept("edits", Edit)
SKILLS = Kept("skills", Skill)

TABLES = (STUDENTS, PIECES, STUDIES, LESSONS, TAKES, PLANS, EDITS, SKILLS)
"""In the order in which they can refer to each other."""

Entry = dict[str, Any]


def entry_of(row: Base, uids: Mapping[str, Mapping[int, str]]) -> Entry:
    """A row as an entry; `uids` gives the uid of students and pieces by their id here."""
    entry: Entry = {}
    for name, kind in columns_of(type(row)):
        value = getattr(row, name)
        if name in REFERENCES:
            other = REFERENCES[name]
            entry[other] = None if value is None else uids[other][value]
        elif name not in LEFT_OUT:
            entry[name] = to_plain(kind, value)
    return entry


def values_of(
    kept: Kept, entry: Any, known: Mapping[str, frozenset[str]], where: str
) -> dict[str, Any]:
    """The values of an entry's columns, checked; references stay uids under ``"student"`` and ``"piece"``.

    `known` holds the uids that the archive has of each. Raises `StudioError` that says where and what.
    """
    if not isinstance(entry, dict):
        raise damaged(where, "it is no object")
    values: dict[str, Any] = {}
    for name, kind in columns_of(kept.table):
        if name in REFERENCES:
            other = REFERENCES[name]
            values[other] = _reference(kept, other, entry.get(other), known, where)
        elif name not in LEFT_OUT:
            nullable = bool(kept.table.__table__.columns[_column(kept, name)].nullable)
            values[name] = _value(kind, nullable, entry.get(name), f"{where}, {name}")
    for name, choices in kept.choices.items():
        if values[name] not in choices:
            raise damaged(where, f"{name} is {values[name][:40]!r}")
    _sane(kept, values, where)
    return values


def damaged(where: str, what: str) -> StudioError:
    """The error of an archive that cannot be read."""
    return StudioError(
        f"the archive cannot be read ({where}: {what})",
        do="nothing was changed; export it again where it came from",
    )


def _column(kept: Kept, attribute: str) -> str:
    from sqlalchemy import inspect

    return str(inspect(kept.table).attrs[attribute].columns[0].name)


def _reference(
    kept: Kept, other: str, uid: Any, known: Mapping[str, frozenset[str]], where: str
) -> str | None:
    if uid is None and (kept.table.__tablename__, other) in MAY_REFER_TO_NOTHING:
        return None
    if not isinstance(uid, str) or uid not in known[other]:
        raise damaged(where, f"its {other} is not in the archive")
    return uid


def _value(kind: Any, nullable: bool, value: Any, where: str) -> Any:
    if value is None:
        if nullable:
            return None
        raise damaged(where, "it is missing")
    if isinstance(kind, JsonText):
        return checks.json_value(value, where)
    if isinstance(kind, (Moment, ClockTime, Date)):
        try:
            return from_plain(kind, value)
        except (ValueError, TypeError, OverflowError):
            raise damaged(where, "it is no moment") from None
    if isinstance(kind, Boolean):
        fits = isinstance(value, bool)
    elif isinstance(kind, Integer):
        fits = isinstance(value, int) and not isinstance(value, bool) and 0 <= value < 2**53
    elif isinstance(kind, Float):
        fits = isinstance(value, (int, float)) and not isinstance(value, bool)
        fits = fits and math.isfinite(value)
    else:
        assert isinstance(kind, (String, Text))
        return _text(kind, value, where)
    if not fits:
        raise damaged(where, f"{str(value)[:40]!r} does not fit")
    return value


def _text(kind: String | Text, value: Any, where: str) -> str:
    try:
        cleaned = checks.text(value, where, kind.length or checks.TEXT_LENGTH)
    except StudioError as error:
        raise damaged(where, str(error)) from None
    return cleaned


def _sane(kept: Kept, values: dict[str, Any], where: str) -> None:
    """What the columns' types do not say."""
    if not UID.fullmatch(values.get("uid", "0" * 32)):
        raise damaged(where, "its uid is none")
    if not HASH.fullmatch(values.get("hash", "0" * 64)):
        raise damaged(where, "its hash is none")
    if kept is STUDENTS:
        _sane_student(values, where)
    if kept is SKILLS and not 0.0 <= values["value"] <= 1.0:
        raise damaged(where, "what is secure lies between 0 and 1")
    for name in ("note_ids", "warnings"):
        texts = values.get(name, [])
        if not isinstance(texts, list) or not all(isinstance(text, str) for text in texts):
            raise damaged(where, f"{name} is no list of texts")
    for name in ("payload", "body", "summary", "assignment"):
        if values.get(name) is not None and not isinstance(values[name], dict):
            raise damaged(where, f"{name} is no object")


def _sane_student(values: dict[str, Any], where: str) -> None:
    days = values["practice_days"]
    weekdays = [*days, values["lesson_weekday"] or 0] if isinstance(days, list) else [None]
    if any(day not in range(7) for day in weekdays):
        raise damaged(where, "a weekday does not exist")
    if not values["name"]:
        raise damaged(where, "the name is missing")
    if values["age_band"] not in ("", *AGES):
        raise damaged(where, "the age band does not exist")
    try:
        hands_of(values["reach_left_cm"], values["reach_right_cm"], values["hands_more"])
    except (ValueError, TypeError, AttributeError) as error:
        raise damaged(where, str(error)) from None
