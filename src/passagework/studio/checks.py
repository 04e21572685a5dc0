"""What is believed of what comes in: texts of a sane length, numbers in range, JSON that is JSON."""

from __future__ import annotations

import json
import re
from collections.abc import Collection, Mapping
from datetime import datetime
from typing import Any, TypeVar

from sqlalchemy.orm import Session

from passagework.studio.columns import Base, dump_json
from passagework.studio.errors import NotFoundError, StudioError

NAME_LENGTH = 120
LINE_LENGTH = 255
TEXT_LENGTH = 20_000
"""Characters of a name, a line, a text; far more than anyone writes about a lesson."""

MOST_ITEMS = 200
"""Tags, editions or levels of one piece."""

JSON_BYTES = 4_000_000
"""Of one payload: an alignment of the longest movements takes under 2 MB."""

JSON_DEPTH = 60

MAX_ID = 2**31 - 1
"""Largest number that databases take as a key."""

_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff\ufffe\uffff]")

Row = TypeVar("Row", bound=Base)


def text(value: str, what: str, limit: int = TEXT_LENGTH) -> str:
    """`value` without what no one can type or read; raises `StudioError` where it is too long."""
    if not isinstance(value, str):
        raise StudioError(f"{what} is not a text")
    cleaned = _CONTROL.sub("", value.replace("\r\n", "\n")).strip()
    if len(cleaned) > limit:
        raise StudioError(f"{what} is longer than {limit} characters", do="shorten it")
    return cleaned


def line(value: str, what: str, limit: int = LINE_LENGTH) -> str:
    """The same for what stands on one line."""
    return " ".join(text(value, what, limit).split())


def needed(value: str, what: str) -> str:
    """`value`, which may not be empty."""
    if not value:
        raise StudioError(f"{what} is missing")
    return value


def one_of(value: str, choices: Collection[str], what: str) -> str:
    """`value`, which must be among `choices`."""
    if value not in choices:
        names = ", ".join(choice for choice in choices if choice)
        raise StudioError(f"{what} is {str(value)[:40]!r}, and can be {names}")
    return value


def within(value: float | None, low: float, high: float, what: str, unit: str = "") -> float | None:
    """`value`, which must lie between `low` and `high` or be None."""
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not low <= value <= high:
        raise StudioError(f"{what} is {value!r}, and lies between {low:g} and {high:g}{unit}")
    return value


def whole(value: int | None, low: int, high: int, what: str, unit: str = "") -> int | None:
    """The same for whole numbers."""
    if value is not None and not isinstance(value, int):
        raise StudioError(f"{what} is {value!r}, and is a whole number")
    within(value, low, high, what, unit)
    return value


def moment(value: datetime, what: str) -> datetime:
    """`value`, which must know its time zone."""
    if value.tzinfo is None:
        raise StudioError(f"{what} has no time zone")
    return value


def json_value(value: Any, what: str) -> Any:
    """A copy of `value` as plain JSON; raises `StudioError` for what JSON cannot hold or what is too much."""
    plain = _plain(value, what, 0)
    try:
        written = dump_json(plain)
    except (ValueError, TypeError):
        raise StudioError(f"{what} holds a value that cannot be stored") from None
    if len(written) > JSON_BYTES:
        raise StudioError(f"{what} is larger than {JSON_BYTES // 1_000_000} MB")
    return json.loads(written)


def _plain(value: Any, what: str, depth: int) -> Any:
    if depth > JSON_DEPTH:
        raise StudioError(f"{what} is nested too deeply")
    if isinstance(value, Mapping):
        return {str(key): _plain(inner, what, depth + 1) for key, inner in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(inner, what, depth + 1) for inner in value]
    return value


def get_row(session: Session, table: type[Row], row_id: int, what: str) -> Row:
    """The row with an id; raises `NotFoundError`, also for numbers that are no ids and for what was deleted."""
    found = session.get(table, row_id) if is_id(row_id) else None
    if found is None or getattr(found, "deleted_at", None) is not None:
        raise NotFoundError(f"there is no such {what}", do="it may have been deleted; go back")
    return found


def is_id(value: object) -> bool:
    """Whether a number can be a row's id."""
    return isinstance(value, int) and 0 < value <= MAX_ID
