"""Several threads, several programs: nothing is lost, and nobody waits for a reader."""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from datetime import date

import pytest

from passagework.studio import database
from passagework.studio.database import FILE_NAME
from passagework.studio.errors import ConflictError, StudioError
from passagework.studio.records import LessonDetails
from passagework.studio.studio import Studio, open_studio
from tests.studio.conftest import Clock
from tests.studio.filling import add_piece, add_student, fill


def in_threads(count: int, work: Callable[[int], object]) -> list[object]:
    with ThreadPoolExecutor(count) as pool:
        return [done.result() for done in [pool.submit(work, i) for i in range(count)]]


def test_threads_read_and_write_together(studio: Studio) -> None:
    student, piece = fill(studio)

    def work(thread: int) -> None:
        for number in range(5):
            studio.edits.put(piece.id, "own-note", f"{thread}-{number}", {"n": number})
            studio.lessons.add(LessonDetails(student_id=student.id, on=date(2026, 3, 1 + thread)))
            assert studio.day(date(2026, 3, 2)).entries
            assert studio.pieces.get(piece.id).title == "The Boat"

    before = len(studio.edits.of_piece(piece.id))
    in_threads(12, work)
    assert len(studio.edits.of_piece(piece.id)) == before + 60
    assert len(studio.lessons.of_student(student.id)) == 61


def test_the_same_score_brought_at_once_is_one_piece(studio: Studio) -> None:
    pieces = in_threads(8, lambda _i: add_piece(studio, "Together").id)
    assert len(set(pieces)) == 1


def test_the_same_edit_at_once_is_one_edit(studio: Studio) -> None:
    piece = add_piece(studio)
    in_threads(8, lambda i: studio.edits.put(piece.id, "fixed-finger", "n1", {"finger": i}))
    assert len(studio.edits.of_piece(piece.id)) == 1


def test_one_change_is_taken_back_once(studio: Studio) -> None:
    piece = add_piece(studio)
    token = studio.edits.put(piece.id, "own-note", "a", {}).undo

    def back(_i: int) -> bool:
        try:
            studio.undo.undo(token)
        except ConflictError:
            return False
        return True

    assert sum(map(bool, in_threads(6, back))) == 1


def test_two_programs_write_into_one_studio(studio: Studio, clock: Clock) -> None:
    """The page's server keeps others out; if it could not, still nothing is lost."""
    with open_studio(studio.folder, now=clock) as other:
        both = (studio, other)
        in_threads(6, lambda i: [add_student(both[i % 2], f"S{i}-{n}") for n in range(4)])
        assert len(studio.students.all()) == len(other.students.all()) == 24


def test_a_lock_held_by_another_program_is_an_error_in_words(
    studio: Studio, monkeypatch: pytest.MonkeyPatch, clock: Clock
) -> None:
    monkeypatch.setattr(database, "BUSY_SECONDS", 0.05)
    studio.close()
    with (
        open_studio(studio.folder, now=clock) as hurried,
        closing(sqlite3.connect(studio.folder / FILE_NAME, isolation_level=None)) as other,
    ):
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(StudioError, match="in use by another program"):
            add_student(hurried)
        assert hurried.students.all() == ()  # reading waits for nobody
        other.execute("COMMIT")
        add_student(hurried)


def test_pages_are_read_while_something_long_is_written(studio: Studio) -> None:
    fill(studio)
    inside, leave = threading.Event(), threading.Event()

    def write() -> None:
        with studio._db.write() as change:
            add = change.session.connection()
            add.exec_driver_sql("UPDATE student SET notes = 'half'")
            inside.set()
            leave.wait(10)

    writer = threading.Thread(target=write)
    writer.start()
    assert inside.wait(10)
    assert {s.notes for s in studio.students.all()} == {"likes loud pieces"}
    leave.set()
    writer.join()
    assert {s.notes for s in studio.students.all()} == {"half"}
