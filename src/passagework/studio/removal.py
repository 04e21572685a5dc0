"""Taking a student out for good: rows, files, the log of changes, and the bytes they leave behind.

What cannot be reached from here is said in words: copies that were exported, and backups where the teacher keeps them.
"""

from __future__ import annotations

import time
from dataclasses import dataclass

from sqlalchemy import delete, select, true
from sqlalchemy.orm import Session

from passagework.studio.backups import Backups
from passagework.studio.blobs import Blobs
from passagework.studio.checks import get_row, one_of
from passagework.studio.computed import Computed
from passagework.studio.database import Database, sqlite_url
from passagework.studio.errors import StudioError
from passagework.studio.records import plural
from passagework.studio.tables_people import (
    Edit,
    Lesson,
    Plan,
    Skill,
    Student,
    Study,
    Take,
    TakeResult,
)
from passagework.studio.tables_studio import Setting, UndoRow, UndoStep
from passagework.studio.upgrade import needs_upgrade, upgrade

CLEANING_DUE = "studio.cleaning-due"
"""A setting that stands while freed pages are still to be overwritten: a crash in between does not forget it."""

CHECKPOINT_TRIES, CHECKPOINT_PAUSE = 20, 0.05
"""The log is cut when no page is being read from it: a moment, in seconds, and another try."""


@dataclass(frozen=True, slots=True)
class Erased:
    """What was taken out of one database."""

    lessons: int
    takes: int
    hashes: tuple[str, ...]
    """Hashes of files that nobody speaks of any more."""


@dataclass(frozen=True, slots=True)
class Removal:
    """What was taken out for good, and what may still hold it."""

    name: str
    lessons: int
    takes: int
    backups_cleaned: tuple[str, ...]
    backups_deleted: tuple[str, ...]
    backups_holding: tuple[str, ...]
    """Backups that still hold the student: `Backups.clean` or `Backups.delete` takes the student out of them too."""

    @property
    def words(self) -> str:
        """What to tell the teacher."""
        text = (
            f"{self.name} was taken out for good, with {plural(self.lessons, 'lesson')} and "
            f"{plural(self.takes, 'take')}. This cannot be undone."
        )
        if self.backups_holding:
            text += (
                f" {plural(len(self.backups_holding), 'older backup')} still "
                f"{'holds' if len(self.backups_holding) == 1 else 'hold'} the student; "
                "take the student out of them too, or delete them."
            )
        return text + (
            " What was exported or printed before, and copies of the folder kept elsewhere, are not reached from here."
        )


KEEP, CLEAN, DELETE = "keep", "clean", "delete"
"""What to do with older backups that hold the student: leave them, take the student out of them, delete them."""


def remove_student(
    db: Database,
    files: Blobs,
    backups: Backups,
    computed: Computed,
    student_id: int,
    confirm: str,
    older: str = KEEP,
) -> Removal:
    """Take a student out for good. `confirm` must be the student's name, as the teacher typed it.

    Raises `StudioError` for another name; nothing is done then. Rows go in one transaction; what a crash leaves of the rest
    (files, freed pages) is finished when the studio is opened again.
    """
    one_of(older, (KEEP, CLEAN, DELETE), "what to do with older backups")
    with db.write() as change:
        row = get_row(change.session, Student, student_id, "student")
        if confirm.strip() != row.name:
            raise StudioError(
                "the name is not the student's, so nothing was deleted",
                do=f"type {row.name} to delete everything about {row.name} for good",
            )
        name, uid = row.name, row.uid
        erased = erase_student(change.session, row.id)
        note_cleaning(change.session, due=True)
    for hash_ in erased.hashes:
        files.remove(hash_)
    computed.clear()
    clean(db)
    cleaned, deleted = [], []
    for backup in backups.holding(uid) if older != KEEP else ():
        if older == DELETE:
            backups.delete(backup)
            deleted.append(backup)
        else:
            clean_backup(backups, backup, uid)
            cleaned.append(backup)
    return Removal(
        name, erased.lessons, erased.takes, tuple(cleaned), tuple(deleted), backups.holding(uid)
    )


def clean_backup(backups: Backups, name: str, student_uid: str) -> None:
    """Take a student out of a backup."""
    now = backups.get(name).made_at
    with backups.rewriting(name) as path:
        copy = Database(sqlite_url(path), lambda: now)
        try:
            with copy.exclusive() as connection:
                if needs_upgrade(connection):
                    upgrade(connection)
            with copy.write() as change:
                query = select(Student.id).where(Student.uid == student_uid)
                student_id = change.session.scalar(query)
                if student_id is not None:
                    erase_student(change.session, student_id)
            clean(copy)
        finally:
            copy.close()


def erase_student(session: Session, student_id: int) -> Erased:
    """Delete every row of a student, and every step of the undo log that touched one."""
    takes = select(Take.id).where(Take.student_id == student_id)
    hashes = set(session.scalars(select(Take.hash).where(Take.student_id == student_id)))
    session.execute(delete(TakeResult).where(TakeResult.take_id.in_(takes)))
    counts = {}
    for table in (Take, Study, Lesson, Plan, Edit, Skill):
        gone = session.execute(
            delete(table)
            .where(table.student_id == student_id)
            .execution_options(synchronize_session=False)
        )
        counts[table] = gone.rowcount  # type: ignore[attr-defined]
    hashes |= _erase_steps(session, student_id)
    session.execute(
        delete(Student).where(Student.id == student_id).execution_options(synchronize_session=False)
    )
    kept = set(session.scalars(select(Take.hash).where(Take.hash.in_(hashes))))
    return Erased(counts[Lesson], counts[Take], tuple(sorted(hashes - kept)))


def _erase_steps(session: Session, student_id: int) -> set[str]:
    """Take out whole steps: their labels name the student too. Gives the hashes of takes that they spoke of."""
    steps: set[int] = set()
    for row in session.scalars(select(UndoRow).where(true())):
        images = [image for image in (row.before, row.after) if image]
        if row.student_id == student_id or any(i.get("student_id") == student_id for i in images):
            steps.add(row.step_id)
    hashes: set[str] = set()
    for step_id in steps:
        for row in session.scalars(select(UndoRow).where(UndoRow.step_id == step_id)):
            if row.table_name == "take":
                hashes |= {i["hash"] for i in (row.before, row.after) if i and "hash" in i}
            session.delete(row)
        session.flush()
        session.execute(delete(UndoStep).where(UndoStep.id == step_id))
    return hashes


def note_cleaning(session: Session, due: bool) -> None:
    """Say in the database that freed pages are to be overwritten, or that it is done."""
    held = session.scalar(select(Setting).where(Setting.name == CLEANING_DUE))
    if due and held is None:
        session.add(Setting(name=CLEANING_DUE, value=True))
    elif not due and held is not None:
        session.delete(held)


def is_cleaning_due(db: Database) -> bool:
    """Whether a removal was cut short before its last step."""
    with db.read() as session:
        return session.scalar(select(Setting).where(Setting.name == CLEANING_DUE)) is not None


def clean(db: Database) -> None:
    """Overwrite what deleted rows left in the database's file and in its log."""
    if db.is_sqlite:
        with db.raw() as connection:
            # Deleting has overwritten the rows (`secure_delete`); this also frees what was written before that was so.
            connection.execute("VACUUM")
            for _ in range(CHECKPOINT_TRIES):
                busy, _, _ = connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
                if not busy:
                    break
                time.sleep(CHECKPOINT_PAUSE)
            else:
                return  # pages are being read without a pause: the next opening does it
    with db.write() as change:
        note_cleaning(change.session, due=False)
