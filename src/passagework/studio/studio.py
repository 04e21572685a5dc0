"""A studio, opened: its rooms under one roof."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path
from types import TracebackType

from sqlalchemy import URL

from passagework.studio.archive import Archive
from passagework.studio.backups import BEFORE_UPGRADE, DAILY, Backups
from passagework.studio.blobs import Blobs, make_folder
from passagework.studio.computed import Computed
from passagework.studio.database import FILE_NAME, Database, sqlite_url
from passagework.studio.day import day_of
from passagework.studio.edits import Edits
from passagework.studio.errors import StudioError
from passagework.studio.lessons import Lessons
from passagework.studio.levels import Levels
from passagework.studio.library import Library
from passagework.studio.pieces import Pieces
from passagework.studio.plans import Plans
from passagework.studio.records import Day
from passagework.studio.removal import clean, is_cleaning_due
from passagework.studio.settings import StudioSettings
from passagework.studio.skills import Skills
from passagework.studio.students import Students
from passagework.studio.studies import Studies
from passagework.studio.summary import Summary, summary_of
from passagework.studio.takes import Takes
from passagework.studio.tending import purge, sweep
from passagework.studio.undo import Undo
from passagework.studio.upgrade import has_index_of_words, needs_upgrade, upgrade, version_of


def _now() -> datetime:
    return datetime.now(UTC)


class Studio:
    """What is kept, and how it is reached. Safe to share between threads."""

    def __init__(self, folder: Path, db: Database) -> None:
        self.folder = folder
        self._db = db
        self._scores = scores = Blobs(folder / "scores", "score")
        self._takes = takes = Blobs(folder / "takes", "take")
        self.computed = Computed(folder / "computed")
        self.backups = Backups(folder / "backups", db, scores, takes)
        self.students = Students(db, takes, self.backups, self.computed)
        self.pieces = Pieces(db, scores)
        self.library = Library(db)
        self.levels = Levels(db)
        self.studies = Studies(db)
        self.lessons = Lessons(db)
        self.takes = Takes(db, takes)
        self.plans = Plans(db)
        self.edits = Edits(db)
        self.skills = Skills(db)
        self.settings = StudioSettings(db)
        self.undo = Undo(db)
        self.archive = Archive(db, scores, takes, self.backups)

    def day(self, on: date) -> Day:
        """The page of a day."""
        return day_of(self._db, on)

    def tend(self) -> None:
        """Let go of what its time is over for, finish what a crash interrupted, make the day's backup if it is due.

        Done when a studio is opened; a program that runs for days calls it daily. A few milliseconds where nothing is due.
        """
        purge(self._db)
        sweep(self._db, self._scores, self._takes)
        if is_cleaning_due(self._db):
            self.computed.clear()
            clean(self._db)
        self.backups.sweep()
        if self.backups.is_due(self._db.now()):
            self.backups.make(DAILY)
            self.backups.rotate()

    def summary(self) -> Summary:
        """What is kept, and how much, for the page that says so."""
        return summary_of(
            self._db, self.folder, self._scores, self._takes, self.computed, self.backups
        )

    def close(self) -> None:
        """Give everything back. Nothing needs it: a studio that is killed loses nothing."""
        self._db.close()

    def __enter__(self) -> Studio:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()


def open_studio(
    folder: Path | str, url: str | URL | None = None, now: Callable[[], datetime] = _now
) -> Studio:
    """Open the studio in a folder, which is made where there is none; `url` names another database than the file in it.

    Raises `StudioError` where the folder cannot be used or the database is a newer program's.
    """
    place = Path(folder)
    try:
        make_folder(place)
    except OSError as error:
        raise StudioError(f"the folder {place} cannot be used ({error.strerror})") from None
    db = Database(url or sqlite_url(place / FILE_NAME), now)
    studio = Studio(place, db)
    try:
        _bring_up_to_date(studio, db)
        studio.tend()
    except BaseException:
        studio.close()
        raise
    return studio


def _bring_up_to_date(studio: Studio, db: Database) -> None:
    with db.exclusive() as connection:
        old, due = version_of(connection), needs_upgrade(connection)
    if due and old is not None and db.is_sqlite:
        studio.backups.make(BEFORE_UPGRADE)
    with db.exclusive() as connection:
        if needs_upgrade(connection):
            upgrade(connection)
        db.full_text = has_index_of_words(connection)
