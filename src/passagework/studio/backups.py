"""Backups: the database copied while it is in use, and the files it speaks of, linked where the disk can.

A backup is a folder with the database and a list of its files; the files of all backups lie together under their hashes. It is
made under another name and renamed when it is whole. A backup on the same disk helps against mistakes and crashes,
not against the loss of the disk: the teacher is told so.
"""

from __future__ import annotations

import os
import re
import shutil
import sqlite3
import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import datetime
from functools import wraps
from pathlib import Path
from typing import Any, TypeVar, cast

from passagework.studio.blobs import Blobs, link_or_copy, make_folder, settle
from passagework.studio.database import FILE_NAME, Database
from passagework.studio.errors import NotFoundError, StudioError
from passagework.studio.upgrade import has_index_of_words, needs_upgrade, refuse_newer, upgrade

DAILY, BEFORE_UPGRADE, BEFORE_RESTORE, BEFORE_IMPORT, BY_HAND = (
    "daily",
    "before-upgrade",
    "before-restore",
    "before-import",
    "by-hand",
)
REASONS = (DAILY, BEFORE_UPGRADE, BEFORE_RESTORE, BEFORE_IMPORT, BY_HAND)

KEPT_DAILY, KEPT_WEEKLY = 7, 4
"""Of the daily ones: the last of each of so many days, and of so many weeks."""

KEPT_BEFORE = 3
"""Of each kind that is made before something is done. Those made by hand stay until they are deleted."""

_NAME = re.compile(r"(\d{8}T\d{6}\.\d{6}Z)-([a-z-]+)")
_STAMP = "%Y%m%dT%H%M%S.%fZ"
_MAKING = ".making-"


@dataclass(frozen=True, slots=True)
class Backup:
    """A backup that is whole."""

    name: str
    made_at: datetime
    reason: str
    """One of `REASONS`."""
    bytes: int
    """Of the database alone."""


Method = TypeVar("Method", bound=Callable[..., Any])


def _alone(method: Method) -> Method:
    """One at a time: whoever makes a backup links files that a sweep would take away."""

    @wraps(method)
    def locked(self: Backups, *args: Any, **kwargs: Any) -> Any:
        with self.lock:
            return method(self, *args, **kwargs)

    return cast("Method", locked)


class Backups:
    """The backups of a studio."""

    def __init__(self, folder: Path, db: Database, scores: Blobs, takes: Blobs) -> None:
        self.folder = folder
        self._db = db
        self._stores = {"piece": scores, "take": takes}
        self._pool = Blobs(folder / "files", "backup")
        self.lock = threading.RLock()

    @_alone
    def make(self, reason: str = BY_HAND) -> Backup:
        """Make a backup now. Raises `StudioError` for a database that has tools of its own for this."""
        if not self._db.is_sqlite:
            raise StudioError(
                "this studio's database is not a file",
                do="make backups with the database's own tools, and copy the folder",
            )
        if reason not in REASONS:
            raise StudioError(f"a backup is not made {reason[:40]!r}")
        name = f"{self._db.now().strftime(_STAMP)}-{reason}"
        making = self.folder / f"{_MAKING}{name}"
        try:
            shutil.rmtree(making, ignore_errors=True)
            make_folder(making)
            with self._db.raw() as live:
                with closing(sqlite3.connect(making / FILE_NAME)) as copy:
                    live.backup(copy)
                    copy.execute("PRAGMA journal_mode=DELETE")
                self._link(making / FILE_NAME)
            os.chmod(making / FILE_NAME, 0o600)
            with open(making / FILE_NAME, "rb+") as file:
                os.fsync(file.fileno())
            settle(making)
            os.replace(making, self.folder / name)
            settle(self.folder)
        except OSError as error:
            shutil.rmtree(making, ignore_errors=True)
            raise StudioError(
                f"the backup could not be written ({error.strerror or error})",
                do="make room on the disk",
            ) from None
        return self.get(name)

    def all(self) -> tuple[Backup, ...]:
        """Every whole backup, the latest first."""
        found = (self._backup(path) for path in self.folder.glob("*"))
        return tuple(sorted((b for b in found if b), key=lambda b: b.name, reverse=True))

    def get(self, name: str) -> Backup:
        """A backup by name; raises `NotFoundError`."""
        found = self._backup(self.folder / name) if _NAME.fullmatch(name) else None
        if found is None:
            raise NotFoundError("there is no such backup")
        return found

    @_alone
    def delete(self, name: str) -> None:
        """Take a backup away, with the files that no other backup needs."""
        shutil.rmtree(self.folder / self.get(name).name)
        settle(self.folder)
        self.sweep()

    def path(self, name: str) -> Path:
        """The database's file of a backup."""
        return self.folder / self.get(name).name / FILE_NAME

    def is_due(self, now: datetime) -> bool:
        """Whether no daily backup was made on this day (in UTC)."""
        days = {b.made_at.date() for b in self.all() if b.reason == DAILY}
        return self._db.is_sqlite and now.date() not in days

    @_alone
    def rotate(self) -> None:
        """Keep the last of each of the latest days and weeks, a few of the others, and what was made by hand."""
        kept: set[str] = set()
        found = self.all()
        daily = [b for b in found if b.reason == DAILY]
        kept |= _last_of_each(daily, lambda b: b.made_at.date().isoformat(), KEPT_DAILY)
        kept |= _last_of_each(daily, lambda b: _week(b.made_at), KEPT_WEEKLY)
        for reason in (BEFORE_UPGRADE, BEFORE_RESTORE, BEFORE_IMPORT):
            kept |= {b.name for b in [b for b in found if b.reason == reason][:KEPT_BEFORE]}
        gone = [b for b in found if b.name not in kept and b.reason != BY_HAND]
        for backup in gone:
            shutil.rmtree(self.folder / backup.name, ignore_errors=True)
        if gone:
            self.sweep()

    @_alone
    def sweep(self) -> None:
        """Take away files that no backup speaks of, and backups that a crash left unfinished."""
        for unfinished in self.folder.glob(f"{_MAKING}*"):
            shutil.rmtree(unfinished, ignore_errors=True)
        wanted: set[str] = set()
        for backup in self.all():
            wanted |= {hash_ for _, hash_ in files_of(self.folder / backup.name / FILE_NAME)}
        self._pool.sweep(wanted)

    @_alone
    def restore(self, name: str) -> Backup:
        """Put the studio back to a backup; gives a backup of the state before.

        The backup is checked first, whole; the database changes in one transaction, so that a crash leaves the state before.
        """
        path = self.path(name)
        _check_database(path)
        files = files_of(path)
        self._check_files(files)
        before = self.make(BEFORE_RESTORE)
        lost = [
            (self._stores[t], hash_) for t, hash_ in files if not self._stores[t].is_sound(hash_)
        ]
        for store, hash_ in lost:
            store.remove(hash_)
        link_or_copy((self._pool.path(hash_), store.path(hash_)) for store, hash_ in lost)
        with self._db.raw() as live, closing(sqlite3.connect(path)) as copy:
            copy.backup(live)
        with self._db.exclusive() as connection:
            if needs_upgrade(connection):
                upgrade(connection)
            self._db.full_text = has_index_of_words(connection)
        return before

    def holding(self, student_uid: str) -> tuple[str, ...]:
        """Names of the backups that hold a student."""
        return tuple(b.name for b in self.all() if _holds(self.path(b.name), student_uid))

    @contextmanager
    def rewriting(self, name: str) -> Iterator[Path]:
        """A copy of a backup's database to change; it takes the place of the backup's when all went well."""
        path = self.path(name)
        copy = path.with_name(f"{_MAKING}{FILE_NAME}")
        self.lock.acquire()
        try:
            shutil.copyfile(path, copy)
            os.chmod(copy, 0o600)
            yield copy
            with closing(sqlite3.connect(copy)) as connection:
                connection.execute("PRAGMA journal_mode=DELETE")
            with open(copy, "rb+") as file:
                os.fsync(file.fileno())
            os.replace(copy, path)
            settle(path.parent)
        finally:
            for leftover in path.parent.glob(f"{_MAKING}*"):
                leftover.unlink(missing_ok=True)
            self.lock.release()
        self.sweep()

    def size(self) -> int:
        """Bytes of all backups' databases and files; linked files take no second place on the disk."""
        return sum(b.bytes for b in self.all()) + self._pool.size()

    def _link(self, database: Path) -> None:
        pairs = [
            (self._stores[table].path(hash_), self._pool.path(hash_))
            for table, hash_ in files_of(database)
        ]
        # A file that is missing here is missing in the studio too, which says so when it is asked for.
        link_or_copy((source, target) for source, target in pairs if source.is_file())

    def _check_files(self, files: Iterable[tuple[str, str]]) -> None:
        lost = [
            hash_
            for table, hash_ in files
            if not self._stores[table].is_sound(hash_) and not self._pool.is_sound(hash_)
        ]
        if lost:
            raise StudioError(
                f"{len(lost)} of the backup's files are missing or damaged",
                do="take another backup",
            )

    def _backup(self, path: Path) -> Backup | None:
        match = _NAME.fullmatch(path.name)
        database = path / FILE_NAME
        if match is None or not database.is_file():
            return None
        made_at = datetime.strptime(match[1] + "+0000", _STAMP + "%z")
        return Backup(path.name, made_at, match[2], database.stat().st_size)


def files_of(database: Path) -> list[tuple[str, str]]:
    """(table, hash) of every file that a database speaks of, the log of changes included."""
    with closing(sqlite3.connect(database)) as connection:
        found = connection.execute(
            "SELECT 'piece', hash FROM piece WHERE NOT emptied UNION SELECT 'take', hash FROM take "
            "UNION SELECT table_name, json_extract(before, '$.hash') FROM undo_row "
            "WHERE table_name IN ('piece', 'take') "
            "UNION SELECT table_name, json_extract(after, '$.hash') FROM undo_row "
            "WHERE table_name IN ('piece', 'take')"
        )
        return sorted((table, hash_) for table, hash_ in found if hash_)


def _check_database(path: Path) -> None:
    try:
        with closing(sqlite3.connect(path)) as connection:
            state = connection.execute("PRAGMA integrity_check").fetchone()[0]
            version = connection.execute("SELECT version_num FROM alembic_version").fetchone()[0]
    except (sqlite3.Error, TypeError):
        state, version = "unreadable", ""
    if state != "ok":
        raise StudioError("this backup is damaged", do="take another")
    refuse_newer(version)


def _holds(path: Path, student_uid: str) -> bool:
    try:
        with closing(sqlite3.connect(path)) as connection:
            query = "SELECT 1 FROM student WHERE uid = ?"
            return connection.execute(query, (student_uid,)).fetchone() is not None
    except sqlite3.Error:
        return True  # what cannot be read may hold anything


def _week(moment: datetime) -> str:
    year, week, _ = moment.isocalendar()
    return f"{year:04d}-{week:02d}"


def _last_of_each(
    latest_first: Iterable[Backup], span: Callable[[Backup], str], most: int
) -> set[str]:
    """Names of the last backup of each day or week, of the latest `most` of them."""
    last: dict[str, str] = {}
    for backup in latest_first:
        last.setdefault(span(backup), backup.name)
    return set(list(last.values())[:most])
