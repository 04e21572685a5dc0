"""Repetitions: how many, how fast, notes and chords."""

import pytest

from passagework.spots import repeated_notes
from passagework.spots.find import find_spots
from tests.spots.build import context


def found(text: str, **options: object) -> list[repeated_notes.Candidate]:
    return list(repeated_notes.find(context(text, **options)))


def test_eight_semiquavers_on_one_key() -> None:
    (one,) = found(f"R: {'C5/1/4 ' * 8} D5/2; L: C3/4", tempo=60)
    assert (one.hand, one.family, one.facts["keys"]) == ("right", "notes", "C5")
    assert one.numbers["rate"] == pytest.approx(4.0)
    assert one.numbers["run"] == 8
    assert one.numbers["other"] == 1


def test_chords_are_a_family_of_their_own_and_harder() -> None:
    (chord,) = found(f"R: {'C5+E5/1/4 ' * 8} D5/2; L: C3/4", tempo=60)
    (note,) = found(f"R: {'C5/1/4 ' * 8} D5/2; L: C3/4", tempo=60)
    assert chord.family == "chords"
    assert chord.facts["keys"] == "C5 and E5"
    assert note.family == "notes"


def test_written_staccato_with_rests_counts() -> None:
    (one,) = found(f"R: {'C5/1/8 r/1/8 ' * 8} D5/2; L: C3/4", tempo=60)
    assert one.numbers["run"] == 8


def test_a_row_over_three_bars_is_cut() -> None:
    rows = found(f"R: {'C5/1/2 ' * 8} | {'C5/1/2 ' * 8} | {'C5/1/2 ' * 8}; L: C3/4 | C3/4 | C3/4")
    assert [(c.first_bar, c.last_bar) for c in rows] == [(0, 1), (2, 2)]
    assert {c.numbers["run"] for c in rows} == {24}


@pytest.mark.parametrize(
    "text",
    [
        "R: C5/1 C5/1 C5/1 D5/1; L: C3/4",  # three slow ones
        f"R: {'C5/1/4 D5/1/4 ' * 4} C5/2; L: C3/4",
        "R: C5/1/2 C5/1 C5/1/2 C5/1 C5/1; L: C3/4",  # not even
        "R: C5/4~ | C5/4; L: C3/4 | C3/4",  # a tie is one note
    ],
)
def test_no_repetition(text: str) -> None:
    assert found(text) == []


def test_printed_fingers_are_named() -> None:
    text = (
        "R: C5/1/4!f3 C5/1/4!f2 C5/1/4!f1 C5/1/4!f3 C5/1/4!f2 C5/1/4!f1 C5/1/4 C5/1/4 D5/2; L: C3/4"
    )
    words = next(
        s for s in find_spots(context(text, tempo=120)) if s.kind == "repeated-notes"
    ).wording
    assert "3 2 1 3 2 1" in words.try_[0]
