"""Backups: whole, kept for a while, and restored to the byte."""

from __future__ import annotations

import sqlite3
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from passagework.studio.backups import BEFORE_RESTORE, BY_HAND, DAILY
from passagework.studio.database import FILE_NAME
from passagework.studio.errors import NotFoundError, StudioError
from passagework.studio.studio import Studio, open_studio
from tests.studio.conftest import Clock
from tests.studio.filling import add_piece, fill
from tests.studio.test_archive import unpacked, written


def test_a_backup_brings_everything_back(studio: Studio) -> None:
    _, piece = fill(studio)
    before = unpacked(written(studio))
    note = studio.edits.put(piece.id, "own-note", "b", {"text": "later taken back"})
    backup = studio.backups.make()
    for student in studio.students.all():
        studio.students.remove_for_good(student.id, student.name)
    studio.pieces.delete(piece.id)
    add_piece(studio, "Later")
    state_before = studio.backups.restore(backup.name)
    studio.undo.undo(note.undo)
    assert unpacked(written(studio)) == before
    assert studio.takes.file(studio.takes.of_piece(piece.id)[0].id) == b"take of Ida"
    # The state before the restoring is a backup too.
    assert state_before.reason == BEFORE_RESTORE
    studio.backups.restore(state_before.name)
    assert studio.students.all() == ()
    assert {p.title for p in studio.pieces.all()} == {"Rain", "Later"}


def test_a_restored_studio_opens_again(studio: Studio, clock: Clock) -> None:
    fill(studio)
    before = unpacked(written(studio))
    backup = studio.backups.make()
    add_piece(studio, "Later")
    studio.backups.restore(backup.name)
    studio.close()
    with open_studio(studio.folder, now=clock) as again:
        assert unpacked(written(again)) == before


@pytest.mark.parametrize("harm", ["database", "file", "both files"])
def test_a_damaged_backup_is_refused_and_nothing_changes(studio: Studio, harm: str) -> None:
    _, piece = fill(studio)
    backup = studio.backups.make()
    if harm == "database":
        path = studio.backups.path(backup.name)
        data = bytearray(path.read_bytes())
        data[4096:12_288] = b"\xff" * 8192
        path.write_bytes(data)
    else:
        held = studio.backups.folder / "files" / piece.hash[:2] / piece.hash
        live = studio.folder / "scores" / piece.hash[:2] / piece.hash
        held.unlink()
        held.write_bytes(b"rot")
        if harm == "both files":
            live.unlink()
    before = studio.summary().pieces, studio.students.all()
    if harm == "file":  # the studio's own file is whole
        studio.backups.restore(backup.name)
        assert studio.pieces.score(piece.id) == b"score of Paper Boat"
        return
    with pytest.raises(StudioError, match="take another"):
        studio.backups.restore(backup.name)
    assert (studio.summary().pieces, studio.students.all()) == before


def test_a_score_that_rotted_comes_back_from_a_backup(studio: Studio) -> None:
    _, piece = fill(studio)
    studio.backups.make()
    path = studio.folder / "scores" / piece.hash[:2] / piece.hash
    path.unlink()
    path.write_bytes(b"rot")
    with pytest.raises(StudioError, match="damaged"):
        studio.pieces.score(piece.id)
    studio.backups.restore(studio.backups.all()[0].name)
    assert studio.pieces.score(piece.id) == b"score of Paper Boat"


def test_days_and_weeks_are_kept(studio: Studio, clock: Clock) -> None:
    by_hand = studio.backups.make(BY_HAND)
    clock.at = datetime(2026, 4, 1, 8, tzinfo=UTC)
    for _ in range(33):  # to 3 May, a Sunday
        studio.tend()
        clock.move(hours=24)
    studio.tend()
    studio.tend()  # a day has one of them
    names = {b.name for b in studio.backups.all()}
    assert by_hand.name in names
    daily = sorted(b.made_at.date().isoformat() for b in studio.backups.all() if b.reason == DAILY)
    # Seven days to 4 May, a Monday, and the last of each of the latest four weeks: that Monday, and three Sundays.
    assert daily == [
        "2026-04-19",
        "2026-04-26",
        "2026-04-28",
        "2026-04-29",
        "2026-04-30",
        "2026-05-01",
        "2026-05-02",
        "2026-05-03",
        "2026-05-04",
    ]


def test_files_go_with_the_last_backup_that_speaks_of_them(studio: Studio, clock: Clock) -> None:
    _, piece = fill(studio)
    first = studio.backups.make()
    clock.move(minutes=1)
    second = studio.backups.make()
    held = studio.backups.folder / "files" / piece.hash[:2] / piece.hash
    studio.backups.delete(first.name)
    assert held.exists()
    studio.backups.delete(second.name)
    assert not held.exists()
    assert studio.pieces.score(piece.id)


@pytest.mark.parametrize("name", ["", "..", "../studio.sqlite", "files", "/etc/passwd", "x" * 5000])
def test_names_of_no_backup(studio: Studio, name: str) -> None:
    for act in (studio.backups.delete, studio.backups.restore, studio.backups.get):
        with pytest.raises(NotFoundError):
            act(name)


def test_what_a_crash_left_half_made_is_swept(studio: Studio, clock: Clock) -> None:
    half = studio.backups.folder / ".making-20260101T000000.000000Z-daily"
    half.mkdir(parents=True)
    (half / FILE_NAME).write_bytes(b"half")
    assert all(b.name[0] != "." for b in studio.backups.all())
    studio.close()
    open_studio(studio.folder, now=clock).close()
    assert not half.exists()


def test_an_older_database_is_backed_up_before_it_is_upgraded(
    studio: Studio, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    from passagework.studio import upgrade

    fill(studio)
    before = unpacked(written(studio))
    studio.close()
    monkeypatch.setattr(upgrade, "HEAD", "9999")

    def later(connection: Any) -> None:
        connection.exec_driver_sql("DROP TABLE skill")
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = '9999'")

    monkeypatch.setattr("passagework.studio.studio.upgrade", later)
    open_studio(studio.folder, now=clock).close()
    monkeypatch.undo()
    with pytest.raises(StudioError, match="newer version"):
        open_studio(studio.folder, now=clock)
    # Back to the older program: its backup is whole.
    (backup,) = (studio.folder / "backups").glob("*-before-upgrade")
    live = sqlite3.connect(studio.folder / FILE_NAME)
    with sqlite3.connect(backup / FILE_NAME) as copy:
        copy.backup(live)
    live.close()
    with open_studio(studio.folder, now=clock) as again:
        assert unpacked(written(again)) == before


def test_files_are_for_the_owner_alone(studio: Studio) -> None:
    fill(studio)
    studio.backups.make()
    for path in studio.folder.rglob("*"):
        if path.is_dir():
            assert path.stat().st_mode & 0o077 == 0, path


def test_the_same_disk_holds_a_file_once(studio: Studio) -> None:
    _, piece = fill(studio)
    studio.backups.make()
    live = studio.folder / "scores" / piece.hash[:2] / piece.hash
    held: Path = studio.backups.folder / "files" / piece.hash[:2] / piece.hash
    assert live.samefile(held)
