"""Files by their hash, and the cache."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from passagework.studio.blobs import Blobs
from passagework.studio.computed import Computed, ComputedKey
from passagework.studio.errors import StudioError
from passagework.studio.records import TakeDetails
from passagework.studio.studio import Studio, open_studio
from passagework.studio.tending import KEPT_DAYS
from tests.studio.conftest import Clock
from tests.studio.filling import add_piece, add_student, fill


def test_what_was_put_is_got(tmp_path: Path) -> None:
    blobs = Blobs(tmp_path / "b", "take")
    name = blobs.put(b"sound")
    assert name == hashlib.sha256(b"sound").hexdigest()
    assert blobs.get(name) == b"sound"
    assert blobs.put(b"sound") == name
    assert list(blobs.names()) == [name]
    assert blobs.size() == 5


def test_damage_is_seen_and_healed_by_the_same_content(tmp_path: Path) -> None:
    blobs = Blobs(tmp_path / "b", "take")
    name = blobs.put(b"sound")
    blobs.path(name).write_bytes(b"soune")
    with pytest.raises(StudioError, match="damaged"):
        blobs.get(name)
    blobs.put(b"sound")
    assert blobs.get(name) == b"sound"
    blobs.remove(name)
    with pytest.raises(StudioError, match="missing"):
        blobs.get(name)


@pytest.mark.parametrize(
    "name", ["", "..", "../x", "a" * 63, "A" * 64, "g" * 64, "a" * 63 + "\n", "/" * 64]
)
def test_only_hashes_reach_the_disk(tmp_path: Path, name: str) -> None:
    blobs = Blobs(tmp_path / "b", "take")
    for act in (blobs.get, blobs.has, blobs.remove, blobs.path):
        with pytest.raises(StudioError):
            act(name)


def test_a_write_that_fails_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    blobs = Blobs(tmp_path / "b", "take")

    def full(*_args: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("passagework.studio.blobs.os.replace", full)
    with pytest.raises(StudioError, match="No space left"):
        blobs.put(b"sound")
    monkeypatch.undo()
    assert [p for p in (tmp_path / "b").rglob("*") if p.is_file()] == []


def test_orphans_are_swept_and_nothing_else(studio: Studio, clock: Clock) -> None:
    _, piece = fill(studio)
    better = studio.pieces.replace_score(piece.id, b"better", "b.xml", piece.facts)
    orphan = studio.folder / "scores" / "ab" / ("ab" + "0" * 62)
    torn = studio.folder / "takes" / "cd" / ".new-123"
    for path in (orphan, torn):
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(b"x")
    studio.close()
    with open_studio(studio.folder, now=clock) as again:
        assert not orphan.exists()
        assert not torn.exists()
        for one in again.pieces.all():
            assert again.pieces.score(one.id)
        for take in again.takes.of_piece(piece.id):
            assert again.takes.file(take.id)
        again.undo.undo(better.undo)  # the file that was replaced is still there
        assert again.pieces.score(piece.id) == b"score of Paper Boat"


def test_time_lets_go_of_what_was_deleted(studio: Studio, clock: Clock) -> None:
    student, piece = fill(studio)
    unplayed = add_piece(studio, "Never played")
    steps = [studio.pieces.delete(piece.id), studio.pieces.delete(unplayed.id)]
    take = studio.takes.of_student(student.id)[0]
    studio.takes.delete(take.id)
    lesson = studio.lessons.of_student(student.id)[0]
    studio.lessons.delete(lesson.id)
    clock.move(days=KEPT_DAYS - 1)
    studio.tend()
    back = studio.undo.undo(steps[0].undo)
    assert studio.pieces.get(piece.id).tags == ("autumn", "pedal")
    studio.undo.undo(back.undo)
    clock.move(days=KEPT_DAYS + 1)
    studio.tend()
    assert studio.summary().deleted == 0
    assert studio.undo.recent(1000) == ()
    # Of what was played the title stays with the student; its notes and file are gone.
    (study,) = studio.studies.of_student(student.id)
    assert (study.piece_title, study.in_library) == ("The Boat", False)
    assert studio.edits.of_piece(piece.id, student.id) == ()
    for gone in (piece, unplayed):
        assert not (studio.folder / "scores" / gone.hash[:2] / gone.hash).exists()
    assert not (studio.folder / "takes" / take.hash[:2] / take.hash).exists()
    with pytest.raises(StudioError):
        studio.pieces.restore(piece.id)
    # The same file brings it back, with what the student did.
    again = studio.pieces.add(b"score of Paper Boat", "p.xml", piece.facts)
    assert (again.known, again.piece.id) == (False, piece.id)
    assert studio.studies.of_student(student.id)[0].in_library
    assert studio.pieces.get(piece.id).facts.profile == piece.facts.profile


def test_the_same_take_twice_is_two_takes_and_one_file(studio: Studio) -> None:
    student = add_student(studio)
    for _ in range(2):
        studio.takes.add(b"sound", TakeDetails(student_id=student.id, kind="recording"))
    assert len(studio.takes.of_student(student.id)) == 2
    assert studio.summary().take_bytes == 5


keys = st.builds(
    ComputedKey,
    st.sampled_from(["a" * 64, "b" * 64]),
    st.text(max_size=6),
    st.text(max_size=4),
    st.sampled_from(["1", "2"]),
)


@given(st.dictionaries(keys, st.binary(max_size=50), max_size=8))
def test_the_cache_tells_keys_apart(
    tmp_path_factory: pytest.TempPathFactory, held: dict[ComputedKey, bytes]
) -> None:
    cache = Computed(tmp_path_factory.mktemp("cache"))
    for key, data in held.items():
        assert cache.get(key) is None
        cache.put(key, data)
    assert {key: cache.get(key) for key in held} == held


def test_what_was_torn_counts_as_missing(tmp_path: Path) -> None:
    cache = Computed(tmp_path)
    key = ComputedKey("a" * 64, "page/1")
    cache.put(key, b"x" * 1000)
    (path,) = (p for p in tmp_path.rglob("*") if p.is_file())
    whole = path.read_bytes()
    for torn in (whole[:-1], whole[:10], b"", b"\0" * len(whole), whole + b"y"):
        path.write_bytes(torn)
        assert cache.get(key) is None
        path.write_bytes(whole)
        assert cache.get(key) == b"x" * 1000


def test_what_was_not_asked_for_longest_goes_first(tmp_path: Path) -> None:
    cache = Computed(tmp_path, most_bytes=10_000)
    made = [ComputedKey("a" * 64, str(i)) for i in range(12)]
    for age, key in enumerate(made[:9]):
        cache.put(key, b"x" * 1000)
        os.utime(cache._path(key), (age + 1, age + 1))
    assert cache.get(made[0]) is not None  # asked for now
    cache.put(made[9], b"x" * 1000)
    assert cache.size() <= 10_000
    assert cache.get(made[0]) is not None
    assert cache.get(made[9]) is not None
    assert cache.get(made[1]) is None
    cache.clear()
    assert (cache.size(), cache.get(made[0])) == (0, None)
    cache.put(made[0], b"again")
    assert cache.get(made[0]) == b"again"
