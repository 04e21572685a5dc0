"""Brings a database to the form that this program knows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import Connection, inspect, text

from passagework.studio.errors import StudioError
from passagework.studio.search_words import INDEX

if TYPE_CHECKING:
    from alembic.config import Config

HEAD = "0001"
"""The newest migration; a test holds it to the folder of migrations. Known here, so that opening a studio that is up to date
does not have to load the machinery."""


def version_of(connection: Connection) -> str | None:
    """The migration that a database stands at; None for one that is new."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    return connection.execute(text("SELECT version_num FROM alembic_version")).scalar()


def needs_upgrade(connection: Connection) -> bool:
    """Whether there is something to do. Raises `StudioError` for a database of a newer program."""
    version = version_of(connection)
    refuse_newer(version)
    return version != HEAD


def refuse_newer(version: str | None) -> None:
    """Raises `StudioError` for a migration that this program does not know."""
    if version is not None and version > HEAD:
        raise StudioError(
            "this studio was written by a newer version of Passagework", do="update the program"
        )


def upgrade(connection: Connection) -> None:
    """Apply what is missing, in the transaction that `connection` has begun."""
    from alembic import command  # loaded only when there is something to do

    command.upgrade(config(connection), "head")


def config(connection: Connection | None = None) -> Config:
    """How the migrations are found: inside the package, wherever it is installed."""
    from alembic.config import Config

    made = Config()
    made.set_main_option("script_location", "passagework.studio:migrations")
    made.attributes["connection"] = connection
    return made


def has_index_of_words(connection: Connection) -> bool:
    """Whether SQLite's full-text index was made."""
    if connection.dialect.name != "sqlite":
        return False
    query = text("SELECT count(*) FROM sqlite_master WHERE name = :name")
    return bool(connection.execute(query, {"name": INDEX}).scalar())
