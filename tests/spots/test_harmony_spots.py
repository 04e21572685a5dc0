"""Chords the ear does not expect, on progressions worked out by hand."""

from __future__ import annotations

from passagework.analysis.harmony import notable_chords
from passagework.spots import harmony
from tests.spots.build import context

NEAPOLITAN = (
    "R: E4+A4+C5/4 | E4+A4+C5/4 | F4+Bb4+D5/4 | F4+G#4+B4/2 E4+G#4+B4/2 | E4+A4+C5/4;"
    "L: A3/4 | A3/4 | D3/4 | D3/2 E3/2 | A2/4"
)


def test_the_neapolitan_and_the_note_that_makes_it() -> None:
    c = context(NEAPOLITAN)
    found = {n.kind: n for n in notable_chords(c.piece, c.harmony)}
    special = found["Neapolitan"]
    assert [str(c.piece.by_id[i].pitch) for i in special.note_ids] == ["Bb4"]
    assert "B flat" in special.words
    assert special.surprise > found["diminished seventh"].surprise


def test_a_spot_names_the_habit_of_the_ear() -> None:
    c = context(NEAPOLITAN)
    by_family = {x.family: x for x in harmony.find(c)}
    spot = by_family["Neapolitan"]
    assert (spot.first_bar, spot.last_bar, spot.hand) == (2, 2, "right")
    assert spot.facts["habit"] == "B"
    words = harmony.describe([spot], c)
    assert "B flat 4 to B" in words.goes_wrong
    assert words.title == "A Neapolitan chord in bar 3"


def test_kinds_by_hand() -> None:
    cases = {
        "deceptive": (
            "R: E4+G4+C5/4 | F4+A4+C5/4 | F4+G4+B4/4 | E4+A4+C5/4 | F4+A4+D5/4 | F4+G4+B4/4 | E4+G4+C5/4;"
            "L: C3/4 | F3/4 | G3/4 | A3/4 | D3/4 | G2/4 | C3/4",
            3,
        ),
        "borrowed": (
            "R: E4+G4+C5/4 | F4+A4+C5/4 | F4+Ab4+C5/4 | E4+G4+C5/4; L: C3/4 | F3/4 | F3/4 | C3/4",
            2,
        ),
        "secondary dominant": (
            "R: E4+G4+C5/4 | F#4+A4+C5/4 | F4+G4+B4/4 | E4+G4+C5/4; L: C3/4 | D3/4 | G2/4 | C3/4",
            1,
        ),
    }
    for kind, (text, bar) in cases.items():
        c = context(text)
        places = {
            n.kind: c.piece.bar_at(c.harmony.chords[n.chord].onset).index
            for n in notable_chords(c.piece, c.harmony)
        }
        assert places.get(kind) == bar or (kind == "borrowed" and "change of mode" in places), (
            kind,
            places,
        )


def test_plain_triads_are_no_spots() -> None:
    c = context(
        "R: E4+G4+C5/4 | F4+A4+C5/4 | D4+G4+B4/4 | E4+G4+C5/4; L: C3/4 | F3/4 | G2/4 | C3/4"
    )
    assert notable_chords(c.piece, c.harmony) == ()
    assert list(harmony.find(c)) == []


def test_every_candidate_points_at_notes_in_its_bars() -> None:
    c = context(NEAPOLITAN)
    for candidate in harmony.find(c):
        assert candidate.note_ids
        assert all(
            candidate.first_bar <= c.piece.by_id[i].bar <= candidate.last_bar
            for i in candidate.note_ids
        )
        assert 0 <= candidate.severity <= 1
