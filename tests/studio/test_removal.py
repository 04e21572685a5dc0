"""A student taken out for good is gone from every byte of the folder."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from passagework.studio.computed import ComputedKey
from passagework.studio.errors import NotFoundError, StudioError
from passagework.studio.records import LessonDetails, StudentRecord, TakeDetails
from passagework.studio.studio import Studio, open_studio
from tests.studio.conftest import Clock
from tests.studio.filling import add_student, fill

SECRET = "Zbigniewa"


def traces(folder: Path, word: bytes) -> list[str]:
    """Files below a folder that hold a word, or are named by it."""
    return sorted(
        str(path.relative_to(folder))
        for path in folder.rglob("*")
        if path.is_file() and (word in path.read_bytes() or word.decode() in path.name)
    )


def fill_for(studio: Studio) -> StudentRecord:
    """A student whose name stands in every kind of thing, changed, deleted and undone too."""
    fill(studio)
    student = add_student(studio, SECRET, notes=f"{SECRET} plays")
    piece = studio.pieces.all()[0]
    lesson = studio.lessons.add(
        LessonDetails(student_id=student.id, on=date(2026, 3, 1), promised=f"{SECRET} promised")
    )
    for number in range(40):  # enough to fill pages and free them again
        text = f"{SECRET} {number} " * 20
        lesson = studio.lessons.change(lesson.value.id, replace(lesson.value, notes=text))
    studio.undo.undo(lesson.undo)
    studio.lessons.delete(lesson.value.id)
    details = TakeDetails(student_id=student.id, piece_id=piece.id, kind="recording", notes=SECRET)
    take = studio.takes.add(f"sound of {SECRET}".encode() * 50, details).value
    studio.takes.set_result(take.id, "measured", {"who": SECRET}, {"who": SECRET})
    gone = studio.takes.add(f"bad sound of {SECRET}".encode(), details).value
    studio.takes.delete(gone.id)
    edit = studio.edits.put(
        piece.id, "own-note", SECRET, {"text": SECRET}, student_id=student.id
    ).value
    studio.edits.delete(edit.id, f"Took out a note for {SECRET}")
    studio.plans.add(student.id, piece.id, {"for": SECRET}, SECRET)
    studio.skills.put(student.id, "leap", 0.2, SECRET)
    studio.computed.put(ComputedKey(piece.hash, "guide"), f"a page for {SECRET}".encode())
    return student


def test_no_byte_of_a_student_stays(studio: Studio) -> None:
    student = fill_for(studio)
    before = studio.summary()
    assert traces(studio.folder, SECRET.encode())  # or the test below says nothing
    removal = studio.students.remove_for_good(student.id, SECRET)
    assert traces(studio.folder, SECRET.encode()) == []
    assert (removal.name, removal.takes, removal.lessons) == (SECRET, 2, 1)
    assert removal.backups_holding == ()
    after = studio.summary()
    assert after.students == before.students - 1
    assert after.takes == before.takes - 1
    assert after.plans == before.plans - 1
    assert {s.name for s in studio.students.all()} == {"Ida", "Jonas"}
    assert all(SECRET not in step.label for step in studio.undo.recent(1000))
    with pytest.raises(NotFoundError):
        studio.students.get(student.id)


def test_only_with_the_name_typed(studio: Studio) -> None:
    student = fill_for(studio)
    before = studio.summary()
    for typed in ("", "zbigniewa", "yes"):
        with pytest.raises(StudioError, match="nothing was deleted"):
            studio.students.remove_for_good(student.id, typed)
    assert studio.summary() == before


def test_others_keep_what_is_theirs(studio: Studio) -> None:
    student = fill_for(studio)
    (ida,) = [s for s in studio.students.all() if s.name == "Ida"]
    shared = studio.takes.add(
        f"sound of {SECRET}".encode() * 50, TakeDetails(student_id=ida.id, kind="recording")
    ).value  # the same bytes: a take given to the wrong student first
    kept = (studio.lessons.of_student(ida.id), studio.takes.of_student(ida.id))
    studio.students.remove_for_good(student.id, SECRET)
    assert (studio.lessons.of_student(ida.id), studio.takes.of_student(ida.id)) == kept
    assert studio.takes.file(shared.id) == f"sound of {SECRET}".encode() * 50
    assert len(studio.takes.of_student(ida.id)) == 2


def test_a_take_given_to_another_leaves_no_step_behind(studio: Studio) -> None:
    student = fill_for(studio)
    (ida,) = [s for s in studio.students.all() if s.name == "Ida"]
    take = studio.takes.add(b"x", TakeDetails(student_id=student.id, kind="midi")).value
    moved = studio.takes.change(take.id, replace(take, student_id=ida.id))
    studio.students.remove_for_good(student.id, SECRET)
    assert studio.takes.get(take.id).student_name == "Ida"
    with pytest.raises(NotFoundError):
        studio.undo.undo(moved.undo)


@pytest.mark.parametrize("older", ["keep", "clean", "delete"])
def test_older_backups(studio: Studio, clock: Clock, older: str) -> None:
    without = studio.backups.make()
    clock.move(minutes=1)
    student = fill_for(studio)
    held = studio.backups.make()
    removal = studio.students.remove_for_good(student.id, SECRET, older)
    names = [b.name for b in studio.backups.all()]
    assert without.name in names
    assert "cannot be undone" in removal.words
    if older == "keep":
        assert removal.backups_holding == (held.name,)
        assert "1 older backup still holds the student" in removal.words
        assert traces(studio.folder / "backups", SECRET.encode())
        return
    assert removal.backups_holding == ()
    assert "still" not in removal.words
    assert traces(studio.folder, SECRET.encode()) == []
    assert (held.name in names) == (older == "clean")
    if older == "clean":
        studio.backups.restore(held.name)
        assert {s.name for s in studio.students.all()} == {"Ida", "Jonas"}
        for piece in studio.pieces.all():
            assert studio.pieces.score(piece.id)


def test_a_removal_cut_short_is_finished_at_the_next_opening(
    studio: Studio, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    from passagework.studio import removal

    student = fill_for(studio)

    def cut(_db: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(removal, "clean", cut)
    monkeypatch.setattr(type(studio.computed), "clear", lambda _self: None)
    monkeypatch.setattr("passagework.studio.blobs.Blobs.remove", lambda _self, _name: None)
    with pytest.raises(KeyboardInterrupt):
        studio.students.remove_for_good(student.id, SECRET)
    monkeypatch.undo()
    studio.close()
    assert traces(studio.folder, SECRET.encode())
    with open_studio(studio.folder, now=clock):
        assert traces(studio.folder, SECRET.encode()) == []
