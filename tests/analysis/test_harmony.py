"""Progressions whose analysis was worked out by hand."""

from __future__ import annotations

from fractions import Fraction

import pytest

from passagework.analysis.harmony import Harmony, analyse_harmony
from passagework.score import Piece
from tests.spots.build import piece


def numerals(harmony: Harmony) -> list[str]:
    return [c.numeral for c in harmony.chords]


def symbols(harmony: Harmony) -> list[str]:
    return [c.symbol for c in harmony.chords]


def kinds(score: Piece, harmony: Harmony) -> dict[str, str]:
    """What every non-chord note is called, by pitch and bar."""
    return {
        f"{score.by_id[n.note_id].pitch}@{score.by_id[n.note_id].bar + 1}": n.kind
        for c in harmony.chords
        for n in c.non_chord
    }


def test_block_chords_in_a_major_key() -> None:
    score = piece(
        "R: E4+G4+C5/4 | F4+A4+C5/4 | F4+G4+B4/4 | E4+G4+C5/4; L: C3/4 | F3/4 | G2/4 | C3/4"
    )
    found = analyse_harmony(score)
    assert numerals(found) == ["I", "IV", "V7", "I"]
    assert symbols(found) == ["C", "F", "G7", "C"]
    assert [c.quality for c in found.chords] == ["major", "major", "dominant", "major"]
    assert [c.onset for c in found.chords] == [0, 4, 8, 12]
    assert [(k.tonic, k.mode, k.away) for k in found.keys] == [("C", "major", 0)]
    assert found.chords[2].note_ids == tuple(n.id for n in score.notes if n.bar == 2)


def test_minor_key_takes_its_leading_note() -> None:
    found = analyse_harmony(
        piece(
            "R: E4+A4+C5/4 | F4+A4+D5/4 | E4+G#4+B4/2 D4+G#4+B4/2 | E4+A4+C5/4; L: A2/4 | D3/4 | E3/4 | A2/4"
        )
    )
    assert numerals(found) == ["i", "iv", "V", "V7", "i"]
    assert [(k.tonic, k.mode) for k in found.keys] == [("A", "minor")]


def test_broken_chords_are_gathered() -> None:
    """An Alberti bass under a tune with passing notes: one chord to the bar, in root position."""
    score = piece(
        "R: C5/1 D5/1 E5/2 | D5/2 B4/2 | C5/4;"
        "L: C4/1/2 G4/1/2 E4/1/2 G4/1/2 C4/1/2 G4/1/2 E4/1/2 G4/1/2"
        "| B3/1/2 G4/1/2 F4/1/2 G4/1/2 B3/1/2 G4/1/2 F4/1/2 G4/1/2 | C4/1/2 G4/1/2 E4/1/2 G4/1/2 C4/2"
    )
    found = analyse_harmony(score)
    assert numerals(found) == ["I", "V65", "I"]
    assert [c.bass for c in found.chords] == ["C", "B", "C"]
    assert [c.inversion for c in found.chords] == [0, 1, 0]
    assert kinds(score, found)["D5@1"] == "passing"


def test_cadential_six_four_is_a_dominant() -> None:
    score = piece("R: C5+E5/2 C5+F5/2 | C5+E5/2 B4+D5/2 | C5+E5/4; L: C3/2 F3/2 | G3/4 | C3+G3/4")
    found = analyse_harmony(score)
    assert numerals(found) == ["I", "IV", "V(64)", "V", "I"]
    six_four = found.chords[2]
    assert (six_four.root, six_four.bass, six_four.symbol) == ("G", "G", "C/G")
    assert {n.kind for n in six_four.non_chord} == {"suspension"}
    assert len(six_four.non_chord) == 2


def test_neapolitan_and_diminished_seventh() -> None:
    found = analyse_harmony(
        piece(
            "R: E4+A4+C5/4 | F4+Bb4+D5/4 | F4+G#4+B4/2 E4+G#4+B4/2 | E4+A4+C5/4;"
            "L: A3/4 | D3/4 | D3/2 E3/2 | A2/4"
        )
    )
    assert numerals(found) == ["i", "bII6", "viio43", "V", "i"]
    assert found.chords[1].root == "Bb"


def test_german_sixth() -> None:
    found = analyse_harmony(
        piece(
            "R: G4+C5+Eb5/4 | C5+Eb5+F#5/4 | C5+Eb5+G5/2 B4+D5+G5/2 | C5+Eb5+G5/4;"
            "L: C3/4 | Ab2/4 | G2/4 | C3/4",
            fifths=-3,
        )
    )
    assert numerals(found) == ["i", "Ger65", "V(64)", "V", "i"]
    assert found.chords[1].quality == "German"
    assert found.chords[1].symbol == "Ab7"
    assert found.chords[1].bass == "Ab"


def test_secondary_dominants() -> None:
    found = analyse_harmony(
        piece(
            "R: E4+G4+C5/4 | E4+A4+C#5/2 G4+A4+C#5/2 | F4+A4+D5/4 | F#4+A4+D5/2 F#4+C5+D5/2 | G4+B4+D5/2 F4+B4+D5/2"
            "| E4+G4+C5/4; L: C3/4 | A2/4 | D3/4 | D3/4 | G2/4 | C3/4"
        )
    )
    assert numerals(found) == ["I", "V/ii", "V7/ii", "ii", "V/V", "V7/V", "V", "V7", "I"]
    assert [k.tonic for k in found.keys] == ["C"]


def test_a_modulation_has_its_pivot() -> None:
    bars = [
        "C3:E4+G4+C5",
        "F3:F4+A4+C5",
        "G3:D4+G4+B4",
        "C3:E4+G4+C5",
        "A2:E4+A4+C5",
        "D3:F#4+A4+C5",
        "G2:D4+G4+B4",
        "C3:E4+G4+C5",
        "D3:D4+G4+B4",
        "D3:D4+F#4+A4",
        "G2:D4+G4+B4",
        "E3:E4+G4+B4",
        "A2:E4+A4+C5",
        "D3:F#4+A4+C5",
        "G2:D4+G4+B4",
        "G2:D4+G4+B4",
    ]
    right = " | ".join(b.split(":")[1] + "/4" for b in bars)
    left = " | ".join(b.split(":")[0] + "/4" for b in bars)
    found = analyse_harmony(piece(f"R: {right}; L: {left}"))
    assert [(k.tonic, k.mode, k.away) for k in found.keys] == [
        ("C", "major", 0),
        ("G", "major", 1),
    ]
    second = found.keys[1]
    assert second.pivot is not None
    assert found.chords[second.pivot.chord].end == second.onset
    assert (second.pivot.before, second.pivot.after) in {("I", "IV"), ("vi", "ii")}
    assert found.keys[0].end == second.onset


def test_suspension_and_neighbour_are_named() -> None:
    score = piece(
        "R: C5/2 C5/1 B4/1 | C5/1 D5/1 C5/2 | E5/4; R2: E4+G4/2 D4+G4/2 | E4+G4/4 | G4+C5/4;"
        "L: C3/2 G3/2 | C3/4 | C3/4"
    )
    found = analyse_harmony(score)
    names = kinds(score, found)
    assert names["C5@1"] == "suspension"
    assert names["D5@2"] == "neighbour"


def test_a_third_that_never_comes_makes_a_suspended_chord() -> None:
    found = analyse_harmony(
        piece("R: E4+G4+C5/4 | F4+A4+C5/4 | G4+C5+D5/4 | E4+A4+C5/4; L: C3/4 | F3/4 | G2/4 | A2/4")
    )
    assert found.chords[2].quality == "suspended-fourth"
    assert found.chords[2].symbol == "Gsus4"


def test_pedal_point() -> None:
    score = piece(
        "R: E4+G4+C5/4 | F4+A4+C5/4 | F4+G4+B4/4 | E4+G4+C5/4; L: C2+C3/4~ | C2+C3/4~ | C2+C3/4~ | C2+C3/4"
    )
    found = analyse_harmony(score)
    assert [c.root for c in found.chords] == ["C", "F", "G", "C"]
    assert [c.pedal for c in found.chords] == [False, False, True, False]
    assert "pedal" in {n.kind for n in found.chords[2].non_chord}


def test_a_line_alone_implies_its_harmony() -> None:
    found = analyse_harmony(
        piece("R: C4/1 E4/1 G4/1 E4/1 | G4/1 F4/1 D4/1 B3/1 | C4/4; L: r/4 | r/4 | r/4")
    )
    roots = [c.root for c in found.chords]
    assert [r for r, before in zip(roots, ["", *roots], strict=False) if r != before] == [
        "C",
        "G",
        "C",
    ]
    assert found.keys[0].tonic == "C"


def test_grace_notes_are_ornaments_or_chord_notes() -> None:
    score = piece("R: g:F4 E4+G4+C5/4 | g:G4 E4+G4+C5/4; L: C3/4 | C3/4")
    found = analyse_harmony(score)
    assert kinds(score, found) == {"F4@1": "ornament"}


def test_a_piece_without_notes_has_no_harmony() -> None:
    found = analyse_harmony(Piece("", "", (), ()))
    assert found == Harmony((), ())
    assert found.key_at(Fraction(0)) is None


@pytest.mark.parametrize(
    ("time", "text"),
    [
        ("6/8", "R: E4+G4+C5/3/2 F4+A4+C5/3/2 | F4+G4+B4/3/2 E4+G4+C5/3/2; L: C3/3/2 F3/3/2 | G2/3/2 C3/3/2"),
        ("3/4", "R: E4+G4+C5/3 | F4+A4+C5/3 | F4+G4+B4/3 | E4+G4+C5/3; L: C3/3 | F3/3 | G2/3 | C3/3"),
        ("5/4", "R: E4+G4+C5/5 | F4+A4+C5/5 | F4+G4+B4/5 | E4+G4+C5/5; L: C3/5 | F3/5 | G2/5 | C3/5"),
    ],
)  # fmt: skip
def test_any_metre(time: str, text: str) -> None:
    assert numerals(analyse_harmony(piece(text, time=time))) == ["I", "IV", "V7", "I"]
