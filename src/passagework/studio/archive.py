"""Archives: everything or one student, in open forms, to be read elsewhere. The form is described in ``docs/formats.md``."""

from __future__ import annotations

from typing import BinaryIO

from passagework.studio.archive_merge import ImportReport, Merge
from passagework.studio.archive_read import read_contents
from passagework.studio.archive_write import ArchiveReport, Chosen, write_archive
from passagework.studio.archive_zip import opened
from passagework.studio.backups import BEFORE_IMPORT, Backups
from passagework.studio.blobs import Blobs
from passagework.studio.checks import get_row
from passagework.studio.database import Database
from passagework.studio.tables_people import Student


class Archive:
    """Export and import."""

    def __init__(self, db: Database, scores: Blobs, takes: Blobs, backups: Backups) -> None:
        self._db = db
        self._scores = scores
        self._takes = takes
        self._backups = backups

    def write_all(self, file: BinaryIO, scores: bool = True) -> ArchiveReport:
        """Write everything but the undo log to `file`, opened for writing in binary.

        `scores` False leaves the scores out, which may not be the teacher's to pass on.
        """
        return self._write(file, Chosen(None, scores, self._db.now().isoformat()))

    def write_student(self, student_id: int, file: BinaryIO, scores: bool = True) -> ArchiveReport:
        """Write one student, with the pieces they played and nothing of any other student."""
        with self._db.read() as session:
            get_row(session, Student, student_id, "student")
        return self._write(file, Chosen(student_id, scores, self._db.now().isoformat()))

    def read(self, file: BinaryIO) -> ImportReport:
        """Merge an archive into the studio; a backup is made before.

        Raises `StudioError` for anything that is not an archive of this project, or is damaged: nothing is changed then.
        """
        with opened(file) as bundle:
            contents = read_contents(bundle)
            if self._db.is_sqlite:
                self._backups.make(BEFORE_IMPORT)
                self._backups.rotate()
            with self._db.write() as change:
                return Merge(change, bundle, self._scores, self._takes).run(contents)

    def _write(self, file: BinaryIO, chosen: Chosen) -> ArchiveReport:
        return write_archive(self._db, self._scores, self._takes, file, chosen)
