"""The library is searched, filtered and ordered; lists of levels are read."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from passagework.studio.errors import ConflictError, NotFoundError, StudioError
from passagework.studio.piece_records import (
    Between,
    Edition,
    PieceDetails,
    PieceLevel,
    PieceQuery,
    PieceRecord,
)
from passagework.studio.records import StudyDetails
from passagework.studio.search_words import fold, sort_key, words_of
from passagework.studio.studio import Studio
from tests.studio.filling import DETAILS, add_piece, add_student


def titles(studio: Studio, **query: object) -> list[str]:
    found = studio.library.search(PieceQuery(**query))  # type: ignore[arg-type]
    assert found.total == len(found.pieces)
    return [piece.title for piece in found.pieces]


@pytest.fixture
def shelf(studio: Studio) -> dict[str, PieceRecord]:
    facts = {
        "Étude No. 10": {"key": "G minor", "bars": 40, "minutes": 3.0, "composer": "Łucja Øst"},
        "Étude No. 2": {"key": "G major", "bars": 30, "minutes": None, "composer": "Łucja Øst"},
        "Ringelreihen": {"key": "C major", "bars": 8, "minutes": 0.5, "composer": "A. Groß"},
    }
    return {
        title: add_piece(studio, title, numbers={"kind:leap": row["bars"] / 100}, **row)  # type: ignore[operator]
        for title, row in facts.items()
    }


def test_words_are_folded() -> None:
    assert fold("Łódź Ærø GROSS Groß naïve") == "lodz aero gross gross naive"
    assert words_of("Op. 27, no. 2 (quasi-fantasia)") == [
        "op",
        "27",
        "no",
        "2",
        "quasi",
        "fantasia",
    ]
    assert sort_key("No. 2") < sort_key("No. 10") < sort_key("No. 10b")


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("etude", ["Étude No. 2", "Étude No. 10"]),
        ("ÉTUDE 10", ["Étude No. 10"]),
        ("lucja ost", ["Étude No. 2", "Étude No. 10"]),
        ("gross", ["Ringelreihen"]),
        ("groß", ["Ringelreihen"]),
        ("minor", ["Étude No. 10"]),
        ("ring", ["Ringelreihen"]),
        ("reihen", []),
        ("etude ring", []),
        ('"*() OR NEAR:', []),
        ("...", ["Étude No. 2", "Étude No. 10", "Ringelreihen"]),
        ("", ["Étude No. 2", "Étude No. 10", "Ringelreihen"]),
    ],
)
@pytest.mark.usefixtures("shelf")
def test_text(studio: Studio, text: str, found: list[str]) -> None:
    assert titles(studio, text=text) == found


@given(st.text(max_size=30))
@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_any_text_is_a_question(studio: Studio, text: str) -> None:
    assert studio.library.search(PieceQuery(text=text, sort="relevance")).page == 1


def test_what_the_teacher_notes_is_found_and_what_is_taken_out_is_not(studio: Studio) -> None:
    piece = add_piece(studio)
    done = studio.pieces.change(piece.id, DETAILS)
    asked = (
        "boat",
        "autumn",
        "blue book",
        "own press",
        "holidays",
        "mine 2",
        "about a boat",
        "paper",
    )
    for text in asked:
        assert titles(studio, text=text) == ["The Boat"], text
    studio.undo.undo(done.undo)
    for text in asked[1:-1]:
        assert titles(studio, text=text) == [], text
    studio.pieces.delete(piece.id)
    assert titles(studio, text="paper") == []
    assert titles(studio, text="paper", deleted=True) == ["Paper Boat"]


def test_filters(studio: Studio, shelf: dict[str, PieceRecord]) -> None:
    two, ten, ring = (shelf[t] for t in ("Étude No. 2", "Étude No. 10", "Ringelreihen"))
    student = add_student(studio)
    studio.studies.add(StudyDetails(student_id=student.id, piece_id=two.id))
    studio.pieces.change(ten.id, DETAILS)
    studio.pieces.set_level_scores({two.id: 3.0, ten.id: 7.5, 10**6: 1.0})
    both = [two.title, ten.title]
    both = ["Étude No. 2", "The Boat"]
    assert titles(studio, composer="Łucja Øst") == both
    assert titles(studio, composer="Łucja") == []
    assert titles(studio, key="C major", metre="3/4") == [ring.title]
    assert titles(studio, tag="pedal") == ["The Boat"]
    assert titles(studio, collection="Blue Book") == ["The Boat"]
    assert titles(studio, level_list="Mine") == ["The Boat"]
    assert titles(studio, level_list="Mine", level_labels=("1", "2")) == ["The Boat"]
    assert titles(studio, level_list="Mine", level_labels=("1",)) == []
    assert titles(studio, bars=Between(8, 30)) == ["Étude No. 2", "Ringelreihen"]
    assert titles(studio, minutes=Between(low=1)) == ["The Boat"]
    assert titles(studio, level_score=Between(high=5)) == ["Étude No. 2"]
    assert titles(studio, numbers={"kind:leap": Between(0.3, 0.4)}) == both
    assert titles(studio, studied_by=student.id) == ["Étude No. 2"]
    assert titles(studio, not_studied_by=student.id) == ["Ringelreihen", "The Boat"]
    assert studio.library.composers() == (("A. Groß", 1), ("Łucja Øst", 2))
    assert dict(studio.library.keys()) == {"G minor": 1, "G major": 1, "C major": 1}
    assert studio.library.tags() == (("autumn", 1), ("pedal", 1))
    assert studio.library.collections() == (("Blue Book", 1),)
    assert studio.library.number_names() == ("kind:leap",)


@pytest.mark.usefixtures("shelf")
def test_orders(studio: Studio) -> None:
    two, ten, ring = "Étude No. 2", "Étude No. 10", "Ringelreihen"
    assert titles(studio, sort="bars") == [ring, two, ten]
    assert titles(studio, sort="bars", descending=True) == [ten, two, ring]
    assert titles(studio, sort="minutes") == [ring, ten, two]
    assert titles(studio, sort="minutes", descending=True) == [ten, ring, two]  # unknown stays last
    assert titles(studio, sort="kind:leap", descending=True) == [ten, two, ring]
    assert titles(studio, sort="kind:nothing") == [ten, two, ring]  # in order of coming
    assert titles(studio, sort="composer") == [ring, ten, two]
    assert titles(studio, sort="added", descending=True) == [ring, two, ten]
    with pytest.raises(StudioError, match="not sorted by"):
        titles(studio, sort="weight")


def test_a_word_in_the_title_comes_first(studio: Studio) -> None:
    other = add_piece(studio, "A song")
    studio.pieces.change(other.id, PieceDetails(notes="like the rain " * 5))
    add_piece(studio, "Rain")
    assert titles(studio, text="rain", sort="relevance") == ["Rain", "A song"]


def test_pages(studio: Studio) -> None:
    for number in range(7):
        add_piece(studio, f"Piece {number}")
    pages = [studio.library.search(PieceQuery(page=n, page_size=3)) for n in (1, 2, 3)]
    assert [len(p.pieces) for p in pages] == [3, 3, 1]
    assert [p.title for page in pages for p in page.pieces] == [f"Piece {n}" for n in range(7)]
    assert {(p.total, p.pages) for p in pages} == {(7, 3)}
    for page, size in ((0, 3), (-5, 0), (10**30, 10**30), (4, 3)):
        found = studio.library.search(PieceQuery(page=page, page_size=size))
        assert 1 <= found.page <= found.pages


def test_levels_are_read_from_a_table(studio: Studio, shelf: dict[str, PieceRecord]) -> None:
    add_piece(studio, "Twice", composer="One")
    studio.pieces.add(
        b"another", "twice.musicxml", replace(shelf["Ringelreihen"].facts, title="TWICE")
    )
    table = (
        "Title;Composer;Grade\r\n"
        "etude no 10;;10\r\n"
        'étude no. 2;"Øst, Łucja";2\r\n'
        "\r\n"
        "Twice;;1\r\n"
        "Unheard of;;3\r\n"
        "Twice;One;2\r\n"
    )
    done = studio.levels.import_csv("Mine", table.encode("utf-8-sig"))
    assert done.value.placed == 3
    assert [(row.line, row.title) for row in done.value.doubtful] == [(5, "Twice")]
    assert [row.title for row in done.value.unknown] == ["Unheard of"]
    (made,) = studio.levels.lists()
    assert (made.name, made.labels, made.pieces) == ("Mine", ("2", "10"), 3)
    ten = studio.pieces.get(shelf["Étude No. 10"].id)
    assert ten.levels == (PieceLevel(list_name="Mine", label="10"),)
    # Read again with another level: moved, not doubled.
    studio.levels.import_csv("Mine", b"file,level\nscores/\xc3\x89tude No. 10.musicxml,11\n")
    assert studio.pieces.get(ten.id).levels == (PieceLevel(list_name="Mine", label="11"),)
    studio.undo.undo(studio.undo.recent()[0].token)
    studio.undo.undo(done.undo)
    assert studio.levels.lists() == ()
    assert studio.pieces.get(ten.id).levels == ()


@pytest.mark.parametrize(
    ("table", "says"),
    [
        (b"", "empty"),
        (b"a,b\n1,2\n", "line 1.*columns title and level"),
        (b"title,level,level\nx,1,2\n", "two columns called level"),
        (b"title,level\nx,1\ny,\n", "line 3: the level is missing"),
        (b"title,level\n,1\n", "line 2: the title is missing"),
        (b"title,level\nx," + b"9" * 200 + b"\n", "line 2: the level is longer"),
        (b"\xff\xfet\x00i\x00\xd8", "not a text"),
        (b"PK\x03\x04\x81\x8d\x8f\x90\x9d", "not a text"),
        (b'title,level\n"' + b"x" * 200_000, "cannot be read"),
        (b"title,level\n" + b"x,1\n" * 20_001, "more than 20000 rows"),
    ],
)
def test_tables_that_cannot_be_read(studio: Studio, table: bytes, says: str) -> None:
    with pytest.raises(StudioError, match=says):
        studio.levels.import_csv("Mine", table)
    assert studio.levels.lists() == ()


@given(st.binary(max_size=200))
@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_any_bytes_are_a_table_or_an_error(studio: Studio, data: bytes) -> None:
    try:
        studio.levels.import_csv("Mine", b"title,level\n" + data)
        studio.levels.import_csv("Mine", data)
    except StudioError:
        pass


def test_lists_are_made_changed_and_taken_out(studio: Studio) -> None:
    made = studio.levels.make("Mine", ["easy", " hard ", "easy", ""]).value
    assert made.labels == ("easy", "hard")
    with pytest.raises(ConflictError, match="already"):
        studio.levels.make("Mine", [])
    piece = add_piece(studio)
    studio.pieces.change(
        piece.id, PieceDetails(levels=(PieceLevel(list_name="Mine", label="hard"),))
    )
    with pytest.raises(ConflictError, match="pieces stand at hard"):
        studio.levels.change(made.id, "Mine", ["easy"])
    renamed = studio.levels.change(made.id, "Ours", ["hard", "easy"]).value
    assert (renamed.name, renamed.labels, renamed.pieces) == ("Ours", ("hard", "easy"), 1)
    assert titles(studio, text="ours hard") == ["Paper Boat"]
    gone = studio.levels.delete(made.id)
    assert studio.pieces.get(piece.id).levels == ()
    assert titles(studio, text="ours") == []
    studio.undo.undo(gone.undo)
    assert studio.pieces.get(piece.id).levels == (PieceLevel(list_name="Ours", label="hard"),)
    assert titles(studio, text="ours") == ["Paper Boat"]
    with pytest.raises(NotFoundError):
        studio.levels.delete(999)


def test_details_are_cleaned(studio: Studio) -> None:
    piece = add_piece(studio)
    noted = PieceDetails(
        own_title="  A\ttitle\x00 ",
        tags=("b", "", "b", "a"),
        editions=(Edition(title=" Book "),),
        notes="one\r\ntwo\ud800",
    )
    changed = studio.pieces.change(piece.id, noted).value
    assert (changed.own_title, changed.tags, changed.notes) == ("A title", ("b", "a"), "one\ntwo")
    assert changed.editions[0].title == "Book"
    for bad in (
        PieceDetails(editions=(Edition(title=" "),)),
        PieceDetails(own_title="x" * 300),
        PieceDetails(tags=tuple(map(str, range(300)))),
        PieceDetails(
            levels=(PieceLevel(list_name="a", label="1"), PieceLevel(list_name="a", label="2"))
        ),
    ):
        with pytest.raises(StudioError):
            studio.pieces.change(piece.id, bad)
    assert studio.pieces.get(piece.id) == changed
