"""Slow to read: ledger lines, clefs, cross-staff notation."""

from __future__ import annotations

from fractions import Fraction

import pytest

from passagework.score.piece import Clef
from passagework.spots.reading import AGAIN, CLEF, CROSSING, KIND, PER_LINE, ledger_lines
from tests.spots.build import context, piece

TREBLE = Clef(Fraction(0), 0, 1, "G", 2)
BASS = Clef(Fraction(0), 0, 2, "F", 4)
ALTO = Clef(Fraction(0), 0, 1, "C", 3)
TREBLE_8 = Clef(Fraction(0), 0, 1, "G", 2, octave_change=-1)


@pytest.mark.parametrize(
    ("name", "clef", "lines"),
    [
        ("E4", TREBLE, 0), ("D4", TREBLE, 0), ("C4", TREBLE, -1), ("A3", TREBLE, -2), ("F3", TREBLE, -3),
        ("G5", TREBLE, 0), ("A5", TREBLE, 1), ("C6", TREBLE, 2), ("E6", TREBLE, 3), ("F6", TREBLE, 3),
        ("C4", BASS, 1), ("G4", BASS, 3), ("E2", BASS, -1), ("C2", BASS, -2), ("A1", BASS, -3),
        ("C4", ALTO, 0), ("B4", ALTO, 1), ("C3", TREBLE_8, -1), ("E4", TREBLE_8, 0), ("A4", TREBLE_8, 1),
    ],
)  # fmt: skip
def test_ledger_lines_by_hand(name: str, clef: Clef, lines: int) -> None:
    (note,) = piece(f"R: {name}/4").notes
    assert ledger_lines(note, clef) == lines


def test_far_notes_count_their_lines_once_for_each_place() -> None:
    # E6 (3 lines), G6 (4 lines), E6 again; D6 has only two.
    (found,) = KIND.find(context("R: E6/1 G6/1 E6/1 D6/1; L: C3/4"))
    assert found.family == "ledger lines"
    assert found.numbers["load"] == pytest.approx(1 + (1 + PER_LINE) + AGAIN)
    assert found.numbers["lines"] == 4
    assert found.facts["far"] == "G6"
    assert found.hand == "right"


def test_an_ottava_brings_them_back_to_the_staff() -> None:
    assert list(KIND.find(context("R: @8va E6/1 G6/1 E6/1 D6/1 @8.; L: C3/4"))) == []


def test_a_change_of_clef() -> None:
    (found,) = KIND.find(context("R: C6/4; L: C3/2 @clefG E4/2"))
    assert found.family == "clef changes"
    assert found.hand == "left"
    # Notes of the bar stand on both sides of it.
    assert found.numbers["load"] == pytest.approx(CLEF + 1)
    assert found.facts["first"] == "E4"
    assert found.facts["clef"] == "treble clef"


def test_the_clef_makes_far_notes_near() -> None:
    assert list(KIND.find(context("R: C6/4; L: @clefG C5/4"))) == []
    (found,) = KIND.find(context("R: C6/4; L: C5/4"))
    assert found.family == "ledger lines"


def test_a_line_across_the_staves() -> None:
    text = "R: r/4 | C5/4; L: C3/1 G3/1 E4/1!other G3/1 | C3/4"
    (found,) = KIND.find(context(text))
    assert found.family == "cross-staff"
    assert found.numbers["crossings"] == 2
    assert found.numbers["load"] == pytest.approx(2 * CROSSING)


def test_a_voice_number_used_for_two_lines_does_not_cross() -> None:
    # Both staves in one voice, as careless files have it: the lines sound at the same time.
    text = "R: C5/1 D5/1 E5/1 F5/1; R2: C3/2!other G3/2!other"
    xml_voice_2 = context(text).piece
    assert {n.staff for n in xml_voice_2.notes} == {1, 2}
    assert [c.family for c in KIND.find(context(text))] == []


def test_not_found_within_the_staves() -> None:
    assert list(KIND.find(context("R: C4/1 F5/1 A5/1 C6/1; L: C2/1 C4/1 E4/2"))) == []


def test_words_name_the_note_and_the_lines() -> None:
    ctx = context("R: E6/1 G6/1 E6/1 D6/1; L: C3/4", tempo=100)
    words = KIND.describe(list(KIND.find(ctx)), ctx)
    assert "four ledger lines above the upper staff, to G6" in words.reason
    assert "bar 1" in words.done_when.lower()


def test_a_missing_clef_is_doubted() -> None:
    ctx = context("R: C5/4; L: C6/1 E6/1 C6/2")
    words = KIND.describe(list(KIND.find(ctx)), ctx)
    assert "may lack a clef" in words.reason
