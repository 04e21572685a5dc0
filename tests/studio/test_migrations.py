"""The migrations make exactly the tables that the program speaks to, found wherever the package is installed."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import Connection, event
from sqlalchemy.schema import CreateIndex, CreateTable

from passagework.studio import upgrade
from passagework.studio.columns import Base
from passagework.studio.database import FILE_NAME, Database, sqlite_url
from passagework.studio.errors import StudioError
from passagework.studio.studio import Studio, open_studio
from passagework.studio.tables import TABLES
from tests.studio.conftest import Clock
from tests.studio.filling import fill


@pytest.fixture
def connection(tmp_path: Path, clock: Clock) -> Iterator[Connection]:
    db = Database(sqlite_url(tmp_path / "new.sqlite"), clock)
    with db.exclusive() as opened:
        yield opened
    db.close()


@pytest.mark.filterwarnings("ignore:autogenerate skipping", "ignore:Skipped unsupported reflection")
def test_migrations_make_the_tables_of_the_program(connection: Connection) -> None:
    from alembic.autogenerate import compare_metadata
    from alembic.migration import MigrationContext

    upgrade.upgrade(connection)
    context = MigrationContext.configure(
        connection,
        opts={
            "include_name": lambda name, _kind, _parents: not (name or "").startswith("piece_words")
        },
    )
    assert compare_metadata(context, Base.metadata) == []
    # What the comparison cannot see: the index over an expression, and ids that are never used again.
    indices = connection.exec_driver_sql(
        "SELECT sql FROM sqlite_master WHERE name = 'uq_edit_place'"
    )
    assert "coalesce(student_id, 0)" in indices.scalar_one()
    made = connection.exec_driver_sql("SELECT name, sql FROM sqlite_master WHERE type = 'table'")
    sql = {row.name: row.sql for row in made}
    assert all(
        "AUTOINCREMENT" in sql[n]
        for n in TABLES
        if n not in ("profile", "piece_number", "take_result")
    )


def test_the_newest_migration_is_the_one_that_is_known() -> None:
    from alembic.script import ScriptDirectory

    assert ScriptDirectory.from_config(upgrade.config()).get_current_head() == upgrade.HEAD


def test_a_failing_migration_leaves_the_database_as_it_was(
    tmp_path: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    db = Database(sqlite_url(tmp_path / "new.sqlite"), clock)
    monkeypatch.setattr("passagework.studio.search_words.INDEX", "x")

    @event.listens_for(db.engine, "before_cursor_execute")
    def fail(_c: object, _u: object, statement: str, *_rest: object) -> None:
        if "undo_row" in statement:
            raise OSError("the power went")

    with pytest.raises(OSError), db.exclusive() as connection:
        upgrade.upgrade(connection)
    db.close()
    with closing(sqlite3.connect(tmp_path / "new.sqlite")) as left:
        assert left.execute("SELECT count(*) FROM sqlite_master").fetchone() == (0,)


def test_other_databases_take_the_tables() -> None:
    """Every table and index can be said in the other dialects; no server is needed for that."""
    from sqlalchemy.dialects import postgresql

    for table in Base.metadata.sorted_tables:
        text = str(CreateTable(table).compile(dialect=postgresql.dialect()))
        assert f"CREATE TABLE {table.name}" in text
        for index in table.indexes:
            assert str(CreateIndex(index).compile(dialect=postgresql.dialect()))


def test_without_the_index_of_words_a_column_is_looked_through(
    tmp_path: Path, empty: Path, clock: Clock
) -> None:
    """As in a database that has no full-text index of this kind."""
    from passagework.studio.piece_records import PieceQuery

    (tmp_path / FILE_NAME).write_bytes(empty.read_bytes())
    with closing(sqlite3.connect(tmp_path / FILE_NAME)) as connection:
        connection.execute("DROP TABLE piece_words")
        connection.commit()
    with open_studio(tmp_path, now=clock) as studio:
        _, piece = fill(studio)
        found = studio.library.search(PieceQuery(text="autu bl", sort="relevance"))
        assert [p.id for p in found.pieces] == [piece.id]
        assert studio.library.search(PieceQuery(text="utumn")).total == 0
        assert studio.library.search(PieceQuery(text="100%")).total == 0


def test_a_database_elsewhere_by_its_address(tmp_path: Path, clock: Clock) -> None:
    elsewhere = tmp_path / "a folder" / "other.db"
    elsewhere.parent.mkdir()
    with open_studio(tmp_path / "s", sqlite_url(elsewhere), now=clock) as studio:
        fill(studio)
    assert elsewhere.exists()
    assert not (tmp_path / "s" / FILE_NAME).exists()
    for bad in ("nonsense", "nosuchdb://x/y", "postgresql+nosuchdriver://u:secret@h/d"):
        with pytest.raises(StudioError) as caught:
            open_studio(tmp_path / "s", bad, now=clock)
        assert "secret" not in str(caught.value)


def test_a_file_that_is_no_database(tmp_path: Path, clock: Clock) -> None:
    (tmp_path / FILE_NAME).write_bytes(b"this is a letter, not a database. " * 100)
    with pytest.raises(StudioError, match="damaged"):
        open_studio(tmp_path, now=clock)


def test_a_folder_that_cannot_be_made(tmp_path: Path, clock: Clock) -> None:
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(StudioError, match="cannot be used"):
        open_studio(tmp_path / "file" / "studio", now=clock)


def test_a_studio_that_is_up_to_date_opens_without_the_machinery(studio: Studio) -> None:
    studio.close()
    code = (
        "import sys; from passagework.studio.studio import open_studio; "
        f"open_studio({str(studio.folder)!r}).close(); print('alembic' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


def test_the_package_alone_is_light() -> None:
    code = "import sys, passagework.studio; print('sqlalchemy' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
