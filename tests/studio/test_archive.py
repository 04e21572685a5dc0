"""Archives: what is written is read back the same, elsewhere and twice; a stranger's archive changes nothing."""

from __future__ import annotations

import hashlib
import io
import json
import zipfile
from collections.abc import Callable, Iterator
from contextlib import suppress
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from passagework.studio.archive_zip import MOST_FILES
from passagework.studio.errors import StudioError
from passagework.studio.piece_records import PieceQuery
from passagework.studio.records import StudentDetails, StudyDetails
from passagework.studio.studio import Studio
from tests.studio.conftest import Clock, open_empty
from tests.studio.filling import add_piece, add_student, fill


def written(studio: Studio, student_id: int | None = None, scores: bool = True) -> io.BytesIO:
    file = io.BytesIO()
    if student_id is None:
        studio.archive.write_all(file, scores)
    else:
        studio.archive.write_student(student_id, file, scores)
    return file


def unpacked(file: io.BytesIO) -> dict[str, Any]:
    """Every file of an archive, JSON parsed, without the moment of its making; rows in an order that does not depend on ids."""
    found: dict[str, Any] = {}
    with zipfile.ZipFile(file) as archive:
        assert archive.testzip() is None
        for name in archive.namelist():
            data = archive.read(name)
            if not name.endswith(".json"):
                found[name] = hashlib.sha256(data).hexdigest()
                continue
            value = json.loads(data)
            if isinstance(value, list):
                value.sort(key=lambda entry: json.dumps(entry, sort_keys=True))
            found[name] = value
    found["manifest.json"].pop("made_at")
    return found


def changed(file: io.BytesIO, name: str, data: bytes | None, new_name: str = "") -> io.BytesIO:
    """The archive with one file replaced, renamed, added or (None) taken out."""
    out = io.BytesIO()
    with zipfile.ZipFile(file) as old, zipfile.ZipFile(out, "w") as new:
        for member in old.namelist():
            if member != name:
                new.writestr(member, old.read(member))
        if data is not None:
            new.writestr(new_name or name, data)
    return out


def table(file: io.BytesIO, name: str) -> list[dict[str, Any]]:
    with zipfile.ZipFile(file) as archive:
        found: list[dict[str, Any]] = json.loads(archive.read(name))
    return found


def test_everything_comes_back_elsewhere(studio: Studio, another: Callable[[], Studio]) -> None:
    fill(studio)
    gone = add_piece(studio, "Gone from the library")
    student = studio.students.all()[0]
    studio.studies.add(StudyDetails(student_id=student.id, piece_id=gone.id, status="finished"))
    studio.pieces.delete(gone.id)
    file = written(studio)
    other = another()
    add_student(other, "Somebody else")  # so that ids here and there differ
    for one in other.students.all():
        other.students.remove_for_good(one.id, "Somebody else")
    report = other.archive.read(file)
    assert not report.warnings
    assert unpacked(written(other)) == unpacked(file)
    assert [s.id for s in other.students.all()] != [s.id for s in studio.students.all()]


def test_reading_twice_doubles_nothing(studio: Studio, another: Callable[[], Studio]) -> None:
    fill(studio)
    file = written(studio)
    for target in (another(), studio):
        target.archive.read(file)
        report = target.archive.read(file)
        assert all(set(counts) <= {"the same"} for counts in report.tables.values()), report.tables
        assert unpacked(written(target)) == unpacked(file)


def test_one_student_holds_nothing_of_another(studio: Studio) -> None:
    first, _ = fill(studio)
    file = written(studio, first.id)
    assert file.getvalue().count(b"Jonas") == 0
    found = unpacked(file)
    text = json.dumps(found)
    assert "Ida" in text
    assert "Jonas" not in text
    assert "Rain" not in text
    with zipfile.ZipFile(file) as archive:
        everything = b"".join(archive.read(name) for name in archive.namelist())
    assert b"Jonas" not in everything
    assert found["manifest.json"]["scope"] == "student"
    assert "settings.json" not in found
    assert len(found["edits.json"]) == 2  # the student's own, and what holds for all in the piece


def test_without_scores_titles_come_along(studio: Studio, another: Callable[[], Studio]) -> None:
    first, piece = fill(studio)
    other = another()
    other.archive.read(written(studio, first.id, scores=False))
    assert other.pieces.all() == ()
    (student,) = other.students.all()
    (study,) = other.studies.of_student(student.id)
    assert (study.piece_title, study.in_library) == ("The Boat", False)
    assert len(other.takes.of_student(student.id)) == 1
    # With the score, the piece is whole again.
    again = other.pieces.add(studio.pieces.score(piece.id), "boat.musicxml", piece.facts)
    assert not again.known
    assert other.studies.of_student(student.id)[0].in_library


def test_what_was_changed_later_stands(
    studio: Studio, another: Callable[[], Studio], clock: Clock
) -> None:
    first, _ = fill(studio)
    other = another()
    old = written(studio)
    other.archive.read(old)
    clock.move(hours=1)
    (there,) = [s for s in other.students.all() if s.name == "Ida"]
    other.students.change(there.id, StudentDetails(name="Ida B.", weekly_minutes=70))
    other.archive.read(old)
    assert other.students.get(there.id).name == "Ida B."
    studio.archive.read(written(other))
    assert studio.students.get(first.id).weekly_minutes == 70


def test_what_was_deleted_comes_back(studio: Studio) -> None:
    _, piece = fill(studio)
    file = written(studio)
    before = unpacked(file)
    studio.pieces.delete(piece.id)
    take = studio.takes.of_piece(piece.id)[0]
    studio.takes.delete(take.id)
    studio.archive.read(file)
    assert studio.pieces.get(piece.id).title == "The Boat"
    assert studio.takes.of_piece(piece.id) != ()
    after = unpacked(written(studio))
    for name in ("pieces.json", "takes.json"):
        for entry in before[name] + after[name]:
            del entry["changed_at"]  # deleting was a change
        by_uid = [sorted(found[name], key=lambda e: str(e["uid"])) for found in (before, after)]
        assert by_uid[0] == by_uid[1]


def test_versions_of_two_plans_are_put_in_order(
    studio: Studio, another: Callable[[], Studio], clock: Clock
) -> None:
    first, piece = fill(studio)
    other = another()
    other.archive.read(written(studio))
    (there,) = [s for s in other.students.all() if s.name == "Ida"]
    (title,) = [p for p in other.pieces.all() if p.title == "The Boat"]
    clock.move(hours=1)
    studio.plans.add(first.id, piece.id, {"made": "here"})
    clock.move(hours=1)
    other.plans.add(there.id, title.id, {"made": "there"})
    studio.archive.read(written(other))
    versions = studio.plans.versions(first.id, piece.id)
    assert [(p.version, p.body.get("made")) for p in versions] == [
        (3, "there"),
        (2, "here"),
        (1, None),
    ]


def test_spreadsheets_take_no_cell_for_a_formula(studio: Studio) -> None:
    add_student(studio, '=HYPERLINK("x")', notes="-1+2")
    with zipfile.ZipFile(written(studio)) as archive:
        text = archive.read("tables/students.csv").decode("utf-8-sig")
    assert "'=HYPERLINK" in text
    assert "'-1+2" in text


def mangled() -> list[tuple[str, str, Any]]:
    """(what, table, a function of its entries)."""

    def set_in(name: str, value: Any) -> Callable[[list[dict[str, Any]]], None]:
        def act(entries: list[dict[str, Any]]) -> None:
            entries[0][name] = value

        return act

    return [
        ("a uid twice", "students", lambda e: e.append(dict(e[0]))),
        ("a uid that is none", "students", set_in("uid", "../../etc")),
        ("a hand no one has", "students", set_in("reach_left_cm", 900.0)),
        ("an endless number", "students", set_in("reach_left_cm", float("inf"))),
        ("a weekday too many", "students", set_in("practice_days", [9])),
        ("a number for a name", "students", set_in("name", 7)),
        ("no name", "students", set_in("name", "")),
        ("a name too long", "students", set_in("name", "x" * 500)),
        ("a student from nowhere", "lessons", set_in("student", "0" * 32)),
        ("no student", "lessons", set_in("student", None)),
        ("a moment without a zone", "lessons", set_in("changed_at", "2026-01-01T10:00:00")),
        ("a day that is none", "lessons", set_in("on", "2026-02-31")),
        ("a status unknown", "studies", set_in("status", "sideways")),
        ("a path for a file", "takes", set_in("file", "../takes/x")),
        ("another's file", "takes", lambda e: e[0].__setitem__("file", e[1]["file"])),
        ("a hash that is none", "pieces", set_in("hash", "zz")),
        ("a negative number", "pieces", set_in("bars", -1)),
        ("a number too large", "pieces", set_in("bars", 2**70)),
        ("true for a number", "pieces", set_in("bars", True)),
        ("tags that are none", "pieces", set_in("tags", [1])),
        ("an edition with more", "pieces", set_in("editions", [{"title": "a", "shelf": "b"}])),
        ("numbers that are none", "pieces", set_in("numbers", {"a": "b"})),
        ("skill beyond the scale", "skills", set_in("value", 3)),
        ("note ids that are none", "edits", set_in("note_ids", {"a": 1})),
        ("numbers for note ids", "edits", set_in("note_ids", [1])),
        ("a list for a payload", "edits", set_in("payload", [1])),
        ("a text for a plan", "plans", set_in("body", "practise")),
        ("an age of nobody", "students", set_in("age_band", "ancient")),
        ("an entry that is none", "edits", lambda e: e.append(3)),  # type: ignore[arg-type]
    ]


def test_a_damaged_table_changes_nothing(studio: Studio, another: Callable[[], Studio]) -> None:
    fill(studio)
    file = written(studio)
    other = another()
    empty = unpacked(written(other))
    for what, name, act in mangled():
        entries = table(file, f"{name}.json")
        act(entries)
        bad = changed(file, f"{name}.json", json.dumps(entries).encode())
        with pytest.raises(StudioError, match="archive") as caught:
            other.archive.read(bad)
        assert "\n" not in str(caught.value), what
    assert unpacked(written(other)) == empty
    assert other.summary().score_bytes == 0


def test_hostile_archives_are_refused(studio: Studio, another: Callable[[], Studio]) -> None:
    fill(studio)
    good = written(studio)
    score = next(n for n in zipfile.ZipFile(good).namelist() if n.startswith("scores/"))
    deep = b'[{"a":' * 100_000
    cases = {
        "not an archive": io.BytesIO(b"hello"),
        "nothing": io.BytesIO(b""),
        "cut short": io.BytesIO(good.getvalue()[:-300]),
        "cut in the middle": io.BytesIO(good.getvalue()[1000:]),
        "a stranger's file": changed(good, "x", b"x", "../../x"),
        "a program in it": changed(good, "x", b"x", "scores/run.sh"),
        "a score that is another": changed(good, score, b"something else"),
        "a score gone": changed(good, score, None),
        "nested deeply": changed(good, "lessons.json", deep),
        "no JSON": changed(good, "lessons.json", b"{"),
        "a list for an object": changed(good, "manifest.json", b"[]"),
        "another's format": changed(good, "manifest.json", b'{"format": "zip"}'),
        "of the future": changed(good, "manifest.json", b'{"format": "passagework.studio/9"}'),
        "no manifest": changed(good, "manifest.json", None),
        "a table gone": changed(good, "edits.json", None),
        "no numbers": changed(good, "lessons.json", b"[NaN]"),
        "not in UTF-8": changed(good, "lessons.json", b'["\xff\xfe\xfa"]'),
    }
    other = another()
    empty = unpacked(written(other))
    for what, file in cases.items():
        with pytest.raises(StudioError) as caught:
            other.archive.read(file)
        assert len(str(caught.value).splitlines()) == 1, what
    assert unpacked(written(other)) == empty
    assert other.summary().score_bytes == 0


def test_a_file_that_unpacks_to_too_much_is_not_unpacked(
    studio: Studio, another: Callable[[], Studio], monkeypatch: pytest.MonkeyPatch
) -> None:
    from passagework.studio import archive_zip

    fill(studio)
    out = io.BytesIO()
    with (
        zipfile.ZipFile(written(studio)) as old,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        for member in old.namelist():
            new.writestr(
                member, old.read(member) if member != "lessons.json" else b" " * 50_000_000
            )
    assert len(out.getvalue()) < 200_000
    monkeypatch.setattr(archive_zip, "MOST_JSON_BYTES", 1_000_000)
    monkeypatch.setattr(archive_zip.Bundle.json, "__defaults__", (1_000_000,))
    with pytest.raises(StudioError, match="larger than it can be"):
        another().archive.read(out)


def test_a_directory_too_large_is_not_read() -> None:
    from passagework.studio.archive_zip import opened

    end = b"PK\x05\x06" + b"\0" * 8 + (MOST_FILES * 500).to_bytes(4, "little") + b"\0" * 6
    with pytest.raises(StudioError, match="too many files"), opened(io.BytesIO(end)):
        pass


json_values: st.SearchStrategy[Any] = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=5)
    | st.sampled_from(["0" * 32, "0" * 64, "2026-01-01", "\ud800", "x\0y"]),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3)
    ),
    max_leaves=4,
)
TABLES = [
    "students",
    "pieces",
    "level_lists",
    "studies",
    "lessons",
    "takes",
    "plans",
    "edits",
    "skills",
]


@pytest.fixture(scope="module")
def target(
    tmp_path_factory: pytest.TempPathFactory, empty: Path
) -> Iterator[tuple[Studio, io.BytesIO]]:
    """A studio to read into, and an archive of another."""
    folder = tmp_path_factory.mktemp("target")
    with open_empty(folder / "a", empty, Clock()) as other:
        fill(other)
        file = written(other)
    with open_empty(folder / "b", empty, Clock()) as studio:
        yield studio, file


@given(st.data())
@settings(max_examples=30, deadline=None)
def test_any_value_anywhere_is_read_or_refused(
    target: tuple[Studio, io.BytesIO], data: st.DataObject
) -> None:
    studio, file = target
    name = data.draw(st.sampled_from(TABLES)) + ".json"
    entries = table(file, name)
    place = data.draw(st.integers(0, len(entries) - 1))
    field = data.draw(st.sampled_from(sorted(entries[place])))
    entries[place][field] = data.draw(json_values)
    bad = changed(file, name, json.dumps(entries).encode())
    try:
        studio.archive.read(bad)
    except StudioError:
        return
    # What was read can be shown, and carried on.
    studio.day(date(2026, 3, 2))
    studio.library.search(PieceQuery(text="a"))
    for piece in studio.pieces.all():
        assert studio.pieces.score(piece.id)
    assert unpacked(written(studio))


@given(
    st.lists(st.tuples(st.integers(0), st.integers(0, 255)), min_size=1, max_size=4), st.integers(0)
)
@settings(max_examples=30, deadline=None)
def test_any_damage_is_read_or_refused(
    target: tuple[Studio, io.BytesIO], flips: list[tuple[int, int]], cut: int
) -> None:
    studio, file = target
    data = bytearray(file.getvalue())
    for place, value in flips:
        data[place % len(data)] = value
    if cut % 3 == 0:
        del data[cut % len(data) :]
    with suppress(StudioError):
        studio.archive.read(io.BytesIO(data))
