"""Column types that mean the same in every database, and what is true of every table."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, time
from typing import Any

from sqlalchemy import Date, Dialect, MetaData, String, Text
from sqlalchemy.orm import DeclarativeBase
from sqlalchemy.types import TypeDecorator

NAMING = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}
"""Constraints have names of their own, so that a later migration can find them in any database."""


class Base(DeclarativeBase):
    """Every table's base."""

    metadata = MetaData(naming_convention=NAMING)


class Moment(TypeDecorator[datetime]):
    """An aware moment, kept as text in UTC, so that it sorts, and is read back, the same everywhere."""

    impl = String(32)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, _dialect: Dialect) -> str | None:
        """A moment without a zone is a mistake of the program."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a moment needs its time zone")
        return value.astimezone(UTC).isoformat(timespec="microseconds")

    def process_result_value(self, value: str | None, _dialect: Dialect) -> datetime | None:
        """As it was stored."""
        return None if value is None else datetime.fromisoformat(value)


class ClockTime(TypeDecorator[time]):
    """A time of day as ``HH:MM``: lessons begin on the minute."""

    impl = String(5)
    cache_ok = True

    def process_bind_param(self, value: time | None, _dialect: Dialect) -> str | None:
        """Seconds are dropped."""
        return None if value is None else value.strftime("%H:%M")

    def process_result_value(self, value: str | None, _dialect: Dialect) -> time | None:
        """As it was stored."""
        return None if value is None else time.fromisoformat(value)


class JsonText(TypeDecorator[Any]):
    """A JSON value as text; compared by value, so that writing the same again is no change."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Any, _dialect: Dialect) -> str | None:
        """Keys in order: the same value gives the same text."""
        return None if value is None else dump_json(value)

    def process_result_value(self, value: str | None, _dialect: Dialect) -> Any:
        """As it was stored."""
        return None if value is None else json.loads(value)


def dump_json(value: Any) -> str:
    """The one way in which JSON is written; raises `ValueError` or `TypeError` for what JSON cannot hold."""
    return json.dumps(value, allow_nan=False, sort_keys=True, separators=(",", ":"))


def to_plain(kind: Any, value: Any) -> Any:
    """A column's value as JSON, for the undo log and for archives; `from_plain` is its inverse."""
    if value is None or not isinstance(kind, (Moment, ClockTime, Date)):
        return value
    if isinstance(kind, ClockTime):
        return value.strftime("%H:%M")
    if isinstance(kind, Moment):
        return value.astimezone(UTC).isoformat(timespec="microseconds")
    return value.isoformat()


def from_plain(kind: Any, value: Any) -> Any:
    """The value that `to_plain` wrote. Raises `ValueError` or `TypeError` for another."""
    if value is None or not isinstance(kind, (Moment, ClockTime, Date)):
        return value
    if isinstance(kind, ClockTime):
        return time.fromisoformat(value)
    if isinstance(kind, Moment):
        moment = datetime.fromisoformat(value)
        if moment.tzinfo is None:
            raise ValueError("a moment needs its time zone")
        return moment.astimezone(UTC)
    return date.fromisoformat(value)
