"""Settings of the studio: names to JSON values."""

from __future__ import annotations

from typing import Any

from sqlalchemy import select

from passagework.studio import checks
from passagework.studio.database import Database
from passagework.studio.records import Done
from passagework.studio.tables_studio import Setting

NAME_LENGTH = 80


class StudioSettings:
    """The settings kept with the studio."""

    def __init__(self, db: Database) -> None:
        self._db = db

    def get(self, name: str, default: Any = None) -> Any:
        """A setting's value, or `default` where it was never set."""
        with self._db.read() as session:
            row = session.scalar(select(Setting).where(Setting.name == name))
            return default if row is None else row.value

    def put(self, name: str, value: Any, label: str = "") -> Done[Any]:
        """Set a value."""
        name = checks.needed(checks.line(name, "the setting", NAME_LENGTH), "the setting")
        plain = checks.json_value(value, "the setting")
        with self._db.write(label or "Changed a setting") as change:
            row = change.session.scalar(select(Setting).where(Setting.name == name))
            if row is None:
                row = Setting(name=name, value=plain)
                change.session.add(row)
            row.value = plain
        return change.done(plain)

    def all(self) -> dict[str, Any]:
        """Every setting, by name."""
        with self._db.read() as session:
            rows = session.scalars(select(Setting).order_by(Setting.name))
            return {row.name: row.value for row in rows}
