"""The database: how it is opened so that nothing written is lost, and sessions that read or write.

For SQLite: write-ahead logging, so that pages are read while something is written; ``synchronous=FULL``, so that what a
page has called saved is on the disk also after a power cut (``NORMAL`` may lose the last changes, and a few milliseconds a
click are not felt); foreign keys are enforced; ``secure_delete`` overwrites what is deleted; a writer begins with the
lock in its hand (``BEGIN IMMEDIATE``), so that it waits its turn instead of failing half way.
"""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import DBAPIError, IntegrityError
from sqlalchemy.exc import TimeoutError as PoolTimeoutError
from sqlalchemy.orm import Session

from passagework.studio.changes import Change, Recorder
from passagework.studio.errors import ConflictError, StudioError
from passagework.studio.search_words import reindex

FILE_NAME = "studio.sqlite"

BUSY_SECONDS = 15
"""How long a writer waits for another's lock; a change takes milliseconds."""

SYNCHRONOUS = "FULL"
"""See above; the tests that cut no power set it ``OFF``."""

CACHE_KIB = 16_384
"""Pages of the database kept in memory by each connection: a studio of 60 students fits."""

LOG_BYTES = 64 << 20
"""Size to which the write-ahead log is cut back after it has grown."""

POOL_SIZE, POOL_EXTRA = 8, 40
"""Connections kept, and more for a moment: web frameworks run some 40 threads."""


class Database:
    """An engine with its rules. `now` gives the moment; tests hand in their own."""

    def __init__(self, url: str | URL, now: Callable[[], datetime]) -> None:
        self.now = now
        self.full_text = False
        """Whether the database has an index of words (`passagework.studio.search_words`); known once it is open."""
        self._writing = threading.RLock()
        self.url = _url(url)
        self.is_sqlite = self.url.get_backend_name() == "sqlite"
        try:
            self.engine = _engine(self.url)
        except Exception as error:  # whatever a driver that is missing, or does not fit, has to say
            shown = self.url.render_as_string(hide_password=True)
            raise StudioError(f"the database {shown} cannot be used: {error}") from None
        self._writer = self.engine.execution_options(passagework_writes=True)

    @property
    def path(self) -> Path | None:
        """The database's file; None where it is none."""
        return Path(self.url.database) if self.is_sqlite and self.url.database else None

    @contextmanager
    def read(self) -> Iterator[Session]:
        """A session that sees one state of the database and changes nothing."""
        with _in_words(), Session(self.engine, autoflush=False) as session:
            yield session
            session.rollback()

    @contextmanager
    def write(self, label: str = "") -> Iterator[Change]:
        """A session whose changes are all made, or none; with a `label` they can be taken back."""
        with self._writing, _in_words(), Session(self._writer, expire_on_commit=False) as session:
            change = Change(session, self.now(), label)
            recorder = Recorder(session) if label else None
            yield change
            session.flush()
            if recorder is not None:
                change.keep(recorder)
            if change.touched:
                reindex(session, change.touched, self.full_text)
            session.commit()

    @contextmanager
    def exclusive(self) -> Iterator[Connection]:
        """A writing connection outside the ORM, for migrations and sweeping."""
        with self._writing, _in_words(), self._writer.begin() as connection:
            yield connection

    @contextmanager
    def raw(self) -> Iterator[sqlite3.Connection]:
        """The SQLite connection itself, with no transaction begun and other writers of this program held back."""
        with self._writing, _in_words():
            connection = self.engine.raw_connection()
            try:
                driver = connection.driver_connection
                assert isinstance(driver, sqlite3.Connection)
                yield driver
            finally:
                connection.close()

    def close(self) -> None:
        """Give every connection back; the write-ahead log goes into the file with the last one."""
        self.engine.dispose()


def sqlite_url(path: Path) -> URL:
    """The URL of a SQLite file, whatever its name holds."""
    return URL.create("sqlite", database=str(path))


def _url(url: str | URL) -> URL:
    try:
        made = make_url(url)
        made.get_dialect()
    except Exception as error:
        raise StudioError(
            f"the database's address cannot be used ({error})",
            do="write it as postgresql+driver://user@host/name, or leave it out for a file",
        ) from None
    return made


def _engine(url: URL) -> Engine:
    if url.get_backend_name() != "sqlite":
        return create_engine(url, pool_pre_ping=True)
    engine = create_engine(
        url,
        pool_size=POOL_SIZE,
        max_overflow=POOL_EXTRA,
        connect_args={"timeout": BUSY_SECONDS, "check_same_thread": False, "isolation_level": None},
    )
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    return engine


def _prepare(connection: sqlite3.Connection, _record: Any) -> None:
    for pragma in (
        "journal_mode=WAL",
        f"synchronous={SYNCHRONOUS}",
        "foreign_keys=ON",
        "secure_delete=ON",
        f"journal_size_limit={LOG_BYTES}",
        f"cache_size=-{CACHE_KIB}",
        "temp_store=MEMORY",
    ):
        connection.execute(f"PRAGMA {pragma}").close()


def _begin(connection: Connection) -> None:
    writes = connection.get_execution_options().get("passagework_writes")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


@contextmanager
def _in_words() -> Iterator[None]:
    """What the database reports, as one line for the teacher."""
    try:
        yield
    except IntegrityError:
        raise ConflictError(
            "something that this needs has been changed or deleted meanwhile",
            do="load the page again",
        ) from None
    except PoolTimeoutError:
        raise StudioError("the studio is busy", do="try again in a moment") from None
    except (DBAPIError, sqlite3.Error) as error:
        raise _worded(error) from error


def _worded(error: Exception) -> StudioError:
    text = str(getattr(error, "orig", None) or error)
    if "locked" in text or "busy" in text:
        return StudioError(
            "the studio is in use by another program", do="close it and try again in a moment"
        )
    if "full" in text:
        return StudioError("the disk is full; nothing was changed", do="make room and try again")
    if "readonly" in text or "unable to open" in text:
        return StudioError(
            "the studio's folder cannot be written to", do="check the rights of the folder"
        )
    if "malformed" in text or "not a database" in text or "disk I/O" in text:
        return StudioError("the studio's database is damaged", do="restore it from a backup")
    return StudioError(f"the database could not do this ({text})")
